import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { hasChromium, launch } from './chromium.ts';
import { steppedWorld, type SteppedWorld } from './stepped-world.ts';

let world: SteppedWorld;
let browser: Browser;
let page: Page;
const complaints: string[] = [];

const alarms = () => world.rehearsal.run.view().alarms;
const emitters = () => world.rehearsal.run.view().emitters;
/** Once the page and the bridge agree. */
const until = (what: () => boolean) => expect.poll(what).toBe(true);

beforeAll(async () => {
  if (!hasChromium) return;
  [world, browser] = await Promise.all([steppedWorld(3), launch()]);
  world.go(20);
  await world.tell('stage:emitters');
  await world.tell('emitter-open', 'hall');
  world.go(60);
  await world.tell('agitate-end');
  world.go(60);
  page = await browser.newPage({ viewport: { width: 1280, height: 800 } });
  page.on('pageerror', (error) => complaints.push(error.message));
  page.setDefaultTimeout(60_000);
  await page.goto(world.url);
  await page.waitForSelector('.band');
});
afterAll(async () => {
  if (!hasChromium) return;
  await browser.close();
  await world.close();
});

describe.skipIf(!hasChromium)('alarms on the page, in chromium against the bridge on stepped time', () => {
  it('stand above the verdict with what to do, and are none before', async () => {
    expect(await page.locator('.alarm').count()).toBe(0);
    world.rehearsal.fault('pump-off');
    world.go(20);
    await page.waitForSelector('.alarm.is-new');
    const text = await page.textContent('.alarm.is-first .alarm-text');
    expect(text).toContain('Water hardly flows');
    expect(text).toContain('Check the pump');
    expect(alarms().isCalling).toBe(true);
  });

  it('silence takes the sound off and leaves the alarm as new as it was', async () => {
    await page.locator('.alarm-act', { hasText: 'Silence' }).click();
    await until(() => !alarms().isCalling);
    await page.locator('.alarm-act', { hasText: 'Silence' }).waitFor({ state: 'detached' });
    expect(await page.locator('.alarm.is-new').count()).toBe(1);
    expect(alarms().shown.map((a) => a.stand)).toEqual(['new']);
  });

  it('seen is another thing: it stands, is not new, and goes quietly once the trouble is gone', async () => {
    await page.locator('.alarm-act', { hasText: 'Seen' }).click();
    await page.waitForSelector('.alarm.is-seen');
    const { heard } = alarms();
    world.rehearsal.fault('calm');
    world.go(30);
    await page.locator('.alarm').waitFor({ state: 'detached' });
    expect(alarms().heard).toBe(heard);
  });

  it('of a silent kit lets the chart go on with the clock, so that nothing in it looks live', async () => {
    world.rehearsal.fault('stall');
    world.go(11);
    await page.waitForSelector('.kind-cannot-tell');
    const silentS = await page.evaluate(
      () =>
        new Promise<number>((resolve) => {
          addEventListener('drawn', (event) => {
            if (!(event instanceof CustomEvent)) return;
            const { nowS, newest } = event.detail;
            if (nowS - newest.timeS > 5) resolve(nowS - newest.timeS);
          });
        }),
    );
    expect(silentS).toBeLessThan(30);
    world.rehearsal.fault('calm');
    world.go(30);
    await world.tell('alarm-acknowledge', '', { note: 'kit-silent' });
    await page.locator('.alarm').waitFor({ state: 'detached' });
  });

  it('put aside for five minutes it is off the list, counted, and comes back when it is asked for', async () => {
    world.rehearsal.fault('pump-off');
    world.go(20);
    await page.locator('.alarm-said').first().click();
    await page.locator('.why .reason-choice', { hasText: 'for 5 min' }).click();
    await page.locator('.alarm').waitFor({ state: 'detached' });
    await page.locator('.alarm-rest', { hasText: '1 put aside' }).waitFor();
    expect(alarms().isCalling).toBe(false);
    const untilS = alarms().shelved[0]?.untilS ?? 0;
    expect(untilS - world.rehearsal.run.view().timeS).toBeLessThanOrEqual(300.01);
    await page.locator('.alarm-rest .tool').click();
    await page.locator('.shelf-row .reason-choice').click();
    await page.waitForSelector('.alarm.is-new');
    expect(alarms().shelved).toEqual([]);
  });

  it('an urgent one comes first, cannot be put aside, and what a first one began stays on top till it was seen', async () => {
    world.rehearsal.rig.rig.pressure.letOut(-14);
    world.go(10);
    await page.waitForSelector('.alarm.is-urgent');
    expect(alarms().shown[0]).toMatchObject({ kind: 'no-flow', isFirstUp: true });
    await page.locator('.alarm.is-first .alarm-act', { hasText: 'Seen' }).click();
    await page.waitForSelector('.alarm.is-first.is-urgent');
    await page.locator('.alarm.is-urgent .alarm-said').click();
    expect(await page.locator('.why .reason-choice', { hasText: 'Put aside' }).count()).toBe(0);
    await page.locator('.why .tool').click();
    await expect(world.tell('alarm-shelve', '', { note: 'pressure-high', data: { minutes: 5 } })).rejects.toThrow(
      /cannot be put aside/,
    );
  });

  it('never shows more than three, and none of it hides the buttons of the work', async () => {
    expect(await page.locator('.alarm').count()).toBeLessThanOrEqual(3);
    for (const action of await page.locator('.action').all()) {
      const box = await action.boundingBox();
      expect((box?.y ?? 900) + (box?.height ?? 0)).toBeLessThanOrEqual(800);
    }
    world.rehearsal.fault('calm');
    world.rehearsal.rig.rig.pressure.letOut(14);
    world.go(40);
    await world.tell('alarm-acknowledge', '', { note: 'pressure-high' });
    await expect.poll(() => page.locator('.alarm').count(), { timeout: 10_000 }).toBe(0);
  });

  it('threw nothing', () => expect(complaints).toEqual([]));
});

describe.skipIf(!hasChromium)('the work behind the line', () => {
  it('opens an emitter of the list out of its turn, by a touch and a hold', async () => {
    world.go(60);
    await page.locator('.emitter-row', { hasText: 'Study' }).click();
    const open = page.locator('.why .reason-choice.is-first');
    const box = await open.boundingBox();
    if (!box) throw new Error('no button to open it');
    await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
    await page.mouse.down();
    await page.waitForTimeout(1700);
    await page.mouse.up();
    await until(() => world.rehearsal.run.view().openEmitter === 'study');
    expect(emitters().find((e) => e.id === 'hall')?.status).not.toBe('open');
  });

  it('changes the order of visits without beginning the analysis anew', async () => {
    const before = emitters().map((e) => e.id);
    // What was done last may be taken back for ten seconds, and that stands over the list.
    world.go(12);
    await page.locator('.emitter-row', { hasText: 'Loft' }).click();
    const { course } = world.rehearsal.run;
    await page.locator('.why .reason-choice', { hasText: 'Earlier' }).click();
    await until(() => emitters().at(-2)?.id === before.at(-1));
    expect(world.rehearsal.run.course).toBe(course);
    await page.locator('.why .tool').click();
  });

  it('counts the hands, the chamber and the solids, as estimates, and says when all will be done', async () => {
    await page.locator('.plan-head').click();
    await page.waitForSelector('.stage[data-stage="emitters"]');
    await page.locator('[data-form="typed-vibration-m-s2"] input').fill('12,5');
    await page.locator('[data-form="typed-vibration-m-s2"] .keep').click();
    await page.locator('[data-form="typed-vibration-earlier"] input').fill('98');
    await page.locator('[data-form="typed-vibration-earlier"] .keep').click();
    await page.locator('[data-form="typed-chamber-grams"] input').fill('400');
    await page.locator('[data-form="typed-chamber-grams"] .keep').click();
    world.go(31);
    await world.tell('agitate-end');
    world.go(40);
    // 2 a^2 an hour: 312.5; half a minute on the tool adds 2.6 to the 98.
    await page.locator('.condition', { hasText: 'Vibration of the hands' }).locator('text=101').first().waitFor();
    await page.locator('.condition', { hasText: 'Solids carried in all' }).locator('text=estimate').waitFor();
    await page.locator('.condition', { hasText: 'Chamber, loaded' }).locator('text=estimate').waitFor();
    expect(await page.textContent('.stage-forecast')).toMatch(/All done in about .+ \(.+ to .+\)/);
    await page.locator('.remark', { hasText: 'over the action value' }).waitFor();
  });

  it('tells the chamber emptied, the flow reversed and a venting by one touch each', async () => {
    for (const [label, event] of [
      ['Chamber emptied', 'chamber-emptied'],
      ['Flow reversed', 'flow-reverse'],
      ['Vented', 'vent'],
    ] as const) {
      await page.locator('.deed', { hasText: label }).click();
      await until(() => world.rehearsal.run.course.state.log.some((e) => e.event.event === event));
    }
    await page.locator('.deed', { hasText: 'Flow forward again' }).waitFor();
    expect(world.rehearsal.run.course.state.job.isReversed).toBe(true);
  });

  it('leads to rest, cautions and the time line, and back', async () => {
    expect(await page.locator('.point').count()).toBe(13);
    expect(await page.locator('.cautions li').count()).toBe(3);
    await page.locator('.stage-foot .tool', { hasText: 'Pause' }).click();
    await page.locator('.reason-choice', { hasText: 'Over night' }).click();
    await until(() => world.rehearsal.run.view().paused !== null);
    await page.locator('.action', { hasText: 'Go on' }).click();
    await page.locator('.back-to-line').click();
    await page.waitForSelector('.rig .band');
    // A night lies between: the hands are rested, and the day begins anew.
    expect(world.rehearsal.run.view().workRemarks.filter((r) => r.includes('Hands'))).toEqual([]);
  });

  it('threw nothing', () => expect(complaints).toEqual([]));
});
