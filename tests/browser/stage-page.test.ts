import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, Page, Route } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type BridgeProcess, startBridgeProcess } from './bridge-process.ts';
import { hasChromium, launch } from './chromium.ts';
import { goToStage } from './go-to-stage.ts';
import { beginAtSurvey, press } from './walk-run.ts';

let folder = '';
let bridge: BridgeProcess;
let browser: Browser;
let page: Page;
const complaints: string[] = [];

async function open(): Promise<Page> {
  const opened = await browser.newPage({ viewport: { width: 1280, height: 800 } });
  opened.on('pageerror', (error) => complaints.push(error.message));
  opened.setDefaultTimeout(60_000);
  await opened.goto(bridge.url);
  return opened;
}
const stage = (on: Page, name: string) => on.locator(`.stage[data-stage="${name}"]`).waitFor();
const give = async (on: Page, reason: string) => on.locator('.reason-choice', { hasText: reason }).click();
/** What is pressed waits on its way until every page has sent: none hears of another's press before its own. */
async function sendTogether(pages: readonly Page[]): Promise<readonly Page[]> {
  const waiting: Route[] = [];
  const sent: Page[] = [];
  for (const on of pages)
    await on.route('**/api/events', async (route) => {
      waiting.push(route);
      sent.push(on);
      if (waiting.length < pages.length) return;
      for (const held of waiting.splice(0)) await held.continue();
      for (const each of pages) await each.unroute('**/api/events');
    });
  return sent;
}

beforeAll(async () => {
  if (!hasChromium) return;
  folder = mkdtempSync(join(tmpdir(), 'limpid-stages-'));
  [bridge, browser] = await Promise.all([startBridgeProcess({ data: folder, speed: 20 }), launch()]);
  page = await open();
  await beginAtSurvey(page);
});
afterAll(async () => {
  if (!hasChromium) return;
  await browser.close();
  await bridge.stop('SIGINT');
  rmSync(folder, { recursive: true, force: true });
});

describe.skipIf(!hasChromium)('the page of a stage, in chromium against the running bridge', () => {
  it('takes an emitter and a label rate, and opens its gate', async () => {
    await stage(page, 'survey');
    expect(await page.textContent('.stage-do')).toContain('label rate');
    await page.locator('.survey h3 .tool').first().click();
    await page.locator('.survey .stage-form input[id$="-name"]').fill('Den');
    await page.locator('.survey .stage-form input[id$="-litres"]').fill('7,5');
    await page.locator('.survey .stage-form .keep').click();
    await page.locator('.part', { hasText: 'Den' }).waitFor();
    await page.locator('#label-cleaner-amount').fill('1');
    await page.locator('[data-form="label-cleaner"] .keep').click();
    await page.locator('.gate.is-open').waitFor();
  });

  it('says what is wrong with a figure before it is sent', async () => {
    await page.locator('#label-cleaner-amount').fill('much');
    await page.locator('[data-form="label-cleaner"] .keep').click();
    expect(await page.textContent('[data-form="label-cleaner"] .wrong')).toContain('no number');
  });

  it('leaves a stage with a shut gate for a reason only, chosen by one touch, and keeps it on the time line', async () => {
    await press(page, /Test the water before/);
    await stage(page, 'before-samples');
    await press(page, /Join the rig/);
    await page.locator('.why').waitFor();
    await give(page, 'Done before this run');
    await stage(page, 'join');
    const label = await page.locator('.point').nth(1).getAttribute('aria-label');
    expect(label).toContain('Done before this run');
  });

  it('does not begin the rinse from the time line before its cautions are confirmed', async () => {
    await page.locator('.point').nth(9).click();
    expect(await page.locator('.why .confirm').count()).toBe(2);
    await give(page, 'Client asked for it');
    await page.locator('.aside.is-warn').waitFor();
    expect(await page.textContent('.aside.is-warn')).toContain('Heat source isolated');
    await stage(page, 'join');
  });

  it('takes a refusal away as soon as what is done after it is taken', async () => {
    await page.locator('.check').first().click();
    await page.locator('.check.is-done').first().waitFor();
    await page.locator('.aside.is-warn').waitFor({ state: 'detached', timeout: 5000 });
    expect(await page.locator('.aside.is-warn').count()).toBe(0);
  });

  it('shows both tablets the same, and gives the second the state when both press at once', async () => {
    const other = await open();
    await stage(other, 'join');
    const sent = await sendTogether([page, other]);
    await Promise.all([press(page, /Start the hold/), press(other, /Start the hold/)]);
    await page.locator('.action', { hasText: 'End the hold' }).waitFor();
    await other.locator('.action', { hasText: 'End the hold' }).waitFor();
    expect(await other.locator('.aside.is-warn', { hasText: 'hold' }).count()).toBe(0);
    expect(new Set(sent).size).toBe(2);
    await other.close();
  });

  it('rests with a reason, and goes on in the same stage after a power cut', async () => {
    await page.locator('.stage-foot .tool', { hasText: 'Pause' }).click();
    await give(page, 'Over night');
    await page.locator('.action', { hasText: 'Go on' }).waitFor();
    await bridge.stop('SIGKILL');
    bridge = await startBridgeProcess({ data: folder, speed: 20, port: bridge.port });
    await page.reload();
    await stage(page, 'join');
    expect(await page.textContent('.stage-words')).toBe('The run rests');
    await press(page, /Go on/);
    await page.locator('.stage-words', { hasText: 'Join the rig' }).waitFor();
    // The survey lacked nothing; the water before was left untested.
    expect(await page.locator('.point.is-done').count()).toBe(1);
    expect(await page.locator('.point.is-left').count()).toBe(1);
  });

  it('shows the units that this device prefers', async () => {
    await page.locator('.condition-value small', { hasText: 'bar' }).first().waitFor();
    await page.locator('.stage-foot .tool', { hasText: 'bar' }).click();
    const psi = page.locator('.condition-value small', { hasText: 'psi' });
    await psi.first().waitFor();
    expect(await psi.count()).toBeGreaterThan(0);
  });

  it('turns what stands in a field into the unit chosen, and keeps the amount', async () => {
    const litres = page.locator('#dose-cleaner-litres');
    await goToStage(page, 'dose');
    await litres.fill('0,5');
    await page.locator('.stage-foot .tool', { hasText: /^l$/ }).click();
    await page.locator('.stage-foot .tool', { hasText: 'US gal' }).first().waitFor();
    expect(await litres.inputValue()).toBe('0.13');
    await page.locator('[data-form="dose-cleaner"] .keep').click();
    await page.waitForFunction(async () => {
      const { stagePage } = await (await fetch('/api/view')).json();
      return stagePage.conditions.find((c: { id: string }) => c.id === 'added-cleaner')?.value === 0.5;
    });
  });

  it('puts a dose right that was typed long ago, from the foot of a later stage', async () => {
    await goToStage(page, 'warm');
    await stage(page, 'warm');
    await page.locator('.stage-foot .put-right').click();
    await page.locator('.typed-choice', { hasText: '0.13 US gal' }).click();
    await page.locator('#right-dose-cleaner-litres').fill('0,2');
    await page.locator('.why .keep').click();
    await page.locator('.why').waitFor({ state: 'detached' });
    await page.locator('.undo', { hasText: 'Put right: cleaner' }).waitFor();
    const { typed } = await page.evaluate(async () => await (await fetch('/api/view')).json());
    expect(typed[0].form.last.litres).toBeCloseTo(0.757, 3);
  });

  it('draws the choice of the chart as a word beside it, not as a field over it', async () => {
    await goToStage(page, 'rinse');
    const choice = await page.locator('.stage-trace select').boundingBox();
    expect(choice?.height).toBeLessThan(50);
    expect(choice?.width).toBeLessThan(200);
  });

  it('shows all of the table of samples, with the origin of each limit under its figures', async () => {
    await goToStage(page, 'after-samples');
    const test = { water: 'after', turbidity: 3.7, conductivity: 455, ph: 9.2 };
    for (const water of ['mains', 'after'])
      await page.evaluate(
        async (data) => {
          const headers = { 'content-type': 'application/json' };
          const body = { id: `sample-${Math.random()}`, event: 'sample', data };
          await fetch('/api/events', { method: 'POST', headers, body: JSON.stringify(body) });
        },
        { ...test, water },
      );
    await page.locator('.stage-table .is-below', { hasText: 'Origin: common practice' }).first().waitFor();
    const [wide, shown] = await page.locator('.stage-table').evaluate((e) => [e.scrollWidth, e.clientWidth]);
    expect(wide).toBeLessThanOrEqual(shown ?? 0);
  });

  it.each([
    [1280, 800],
    [800, 1280],
    [412, 915],
  ])('fits %i by %i without scrolling sideways, its actions 20 mm high', async (width, height) => {
    await page.setViewportSize({ width, height });
    await page.waitForTimeout(200);
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(width);
    for (const box of await page
      .locator('.action')
      .evaluateAll((all) => all.map((e) => e.getBoundingClientRect().height)))
      expect(box).toBeGreaterThanOrEqual(width > 700 ? 126 : 94);
  });

  it('threw nothing', () => expect(complaints).toEqual([]));
});
