import type { Browser, CDPSession } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { hasChromium, launch } from './chromium.ts';
import type { FakeBridge } from '../src/server/fake-bridge.ts';
import { type FakePage, openFake, twoPasses } from './fake-page.ts';

let browser: Browser;
let fake: FakePage;
let touch: CDPSession;

type Point = readonly [number, number];

/** Fingers that go down, move in ten steps and come up, as the browser itself would report them. */
async function fingers(from: readonly Point[], to: readonly Point[]): Promise<void> {
  const at = (share: number) =>
    from.map(([x, y], i) => {
      const [toX, toY] = to[i] ?? [x, y];
      return { x: x + share * (toX - x), y: y + share * (toY - y), id: i };
    });
  await touch.send('Input.dispatchTouchEvent', { type: 'touchStart', touchPoints: at(0) });
  for (let step = 1; step <= 10; step += 1)
    await touch.send('Input.dispatchTouchEvent', { type: 'touchMove', touchPoints: at(step / 10) });
  await touch.send('Input.dispatchTouchEvent', { type: 'touchEnd', touchPoints: [] });
}

/** Labels of the time axis cannot be read off a canvas: what the figure box says of one place can. */
async function pointAt(share: number): Promise<string> {
  const box = await fake.page.locator('.plot').boundingBox();
  if (box === null) throw new Error('no plot');
  await drawn();
  await fake.page.touchscreen.tap(box.x + share * box.width, box.y + box.height / 2);
  await drawn();
  return (await fake.page.textContent('.reading b')) ?? '';
}

/** What was asked for is on the screen: the page draws with the next frames, a loaded machine a little later. */
const drawn = (): Promise<unknown> =>
  fake.page.evaluate(() => new Promise((done) => requestAnimationFrame(() => setTimeout(done, 120))));

const seconds = (clock: string): number => {
  const [minutes = '0', rest = '0'] = clock.replace('\u2212', '-').split(':');
  return Number(minutes) * 60 + (minutes.startsWith('-') ? -1 : 1) * Number(rest);
};

/** Ten minutes of still water, so that there is a past to be dragged into, then two passes. */
async function longRun(bridge: FakeBridge): Promise<void> {
  bridge.play(600);
  await twoPasses(bridge);
}

const toLive = async (): Promise<void> => {
  await fake.page.click('.back-to-live');
  await fake.page.waitForSelector('.back-to-live', { state: 'detached' });
};

beforeAll(async () => {
  if (!hasChromium) return;
  browser = await launch();
  fake = await openFake(browser, { hasTouch: true, before: longRun });
  await fake.page.waitForSelector('.plot canvas');
  touch = await fake.page.context().newCDPSession(fake.page);
  fake.run();
});
afterAll(async () => {
  if (!hasChromium) return;
  await fake.close();
  await browser.close();
});

describe.skipIf(!hasChromium)('the chart of the return line, under fingers', () => {
  it('freezes at a tap and says what the figures were there', async () => {
    const first = await pointAt(0.4);
    const text = await fake.page.textContent('.reading');
    expect(text).toMatch(/Turbidity\s*[\d.< ]+ NTU/);
    expect(text).toMatch(/Flow\s*[\d.]+ l\/min/);
    const frozen = await pointAt(0.4);
    await fake.page.waitForTimeout(1200);
    expect(await pointAt(0.4)).toBe(frozen);
    expect(Math.abs(seconds(frozen) - seconds(first))).toBeLessThanOrEqual(1);
  });

  it('shows the same instant in the small traces', async () => {
    expect(await fake.page.locator('.small.is-past').count()).toBe(4);
    await toLive();
    expect(await fake.page.locator('.small.is-past').count()).toBe(0);
  });

  it('is dragged by one finger, into the past and back', async () => {
    const before = seconds(await pointAt(0.5));
    const box = await fake.page.locator('.plot').boundingBox();
    const [x, y] = [(box?.x ?? 0) + 300, (box?.y ?? 0) + 120];
    await fingers([[x, y]], [[x + 280, y + 4]]);
    const after = seconds(await pointAt(0.5));
    // 280 of about 840 pixels that show five minutes.
    expect(before - after).toBeGreaterThan(70);
    expect(before - after).toBeLessThan(130);
    await toLive();
  });

  it('is stretched by two fingers about the place between them', async () => {
    await pointAt(0.5);
    const wide = seconds(await pointAt(0.8)) - seconds(await pointAt(0.3));
    const box = await fake.page.locator('.plot').boundingBox();
    const middle = (box?.x ?? 0) + (box?.width ?? 0) / 2;
    const y = (box?.y ?? 0) + 120;
    await fingers(
      [
        [middle - 60, y],
        [middle + 60, y],
      ],
      [
        [middle - 180, y],
        [middle + 180, y],
      ],
    );
    const close = seconds(await pointAt(0.8)) - seconds(await pointAt(0.3));
    expect(wide / close).toBeGreaterThan(2);
    expect(wide / close).toBeLessThan(4.5);
    await toLive();
  });

  it('does the same by buttons and by keys, for whoever cannot drag', async () => {
    await pointAt(0.5);
    const start = seconds(await pointAt(0.5));
    await fake.page.getByRole('button', { name: 'Earlier' }).click();
    const earlier = seconds(await pointAt(0.5));
    expect(start - earlier).toBeGreaterThan(100);
    await fake.page.locator('.plot').focus();
    await fake.page.keyboard.press('ArrowRight');
    expect(seconds(await pointAt(0.5))).toBeGreaterThan(earlier + 30);
    await fake.page.locator('.plot').focus();
    await fake.page.keyboard.press('Escape');
    await fake.page.waitForSelector('.back-to-live', { state: 'detached' });
  });

  it('lists its marks as a table, each pass and pulse with its figures', async () => {
    await fake.page.selectOption('.plot-tools select', 'table');
    const rows = await fake.page.locator('.marks tbody tr').evaluateAll((all) => all.map((r) => r.textContent ?? ''));
    expect(rows.filter((r) => r.startsWith('Pass'))).toHaveLength(2);
    expect(rows.filter((r) => /^Pulse.*peak \d+ NTU/.test(r))).toHaveLength(2);
    expect(rows.some((r) => r.startsWith('Clear'))).toBe(true);
    expect(await fake.page.textContent('.marks caption')).toContain('Background 9.0 NTU');
    await fake.page.selectOption('.plot-tools select', 'short');
  });

  it('lays the last pulses over one another, each in a line of its own', async () => {
    await fake.page.selectOption('.plot-tools select', 'pulses');
    await fake.page.waitForTimeout(600);
    const blue = await fake.page.evaluate(() => {
      const canvas = document.querySelector<HTMLCanvasElement>('.plot canvas');
      const data = canvas?.getContext('2d')?.getImageData(0, 0, canvas.width, canvas.height).data ?? [];
      let found = 0;
      for (let i = 0; i < data.length; i += 4)
        if (data[i] === 0 && data[i + 1] === 0x72 && data[i + 2] === 0xb2) found += 1;
      return found;
    });
    // The pass before the newest is drawn in the colour of the flow; a grid line across would be thousands.
    expect(blue).toBeGreaterThan(200);
    expect(blue).toBeLessThan(2500);
    await fake.page.selectOption('.plot-tools select', 'short');
  });

  it('says in one line what it shows, for whoever cannot see it', async () => {
    const summary = () => fake.page.textContent('[data-part="summary"]');
    await expect.poll(summary, { timeout: 15_000 }).toMatch(/Turbidity [\d.]+ NTU\. background 9\.0\. 2 pulses/);
  });

  it('writes into a span without a verdict why there is none', async () => {
    const ink = () =>
      fake.page.evaluate(() => {
        const canvas = document.querySelector<HTMLCanvasElement>('.plot canvas');
        const data = canvas?.getContext('2d')?.getImageData(400, 40, 160, 24).data ?? [];
        let black = 0;
        for (let i = 0; i < data.length; i += 4) if ((data[i] ?? 255) < 60 && (data[i + 3] ?? 0) > 200) black += 1;
        return black;
      });
    const before = await ink();
    const { timeS } = fake.bridge;
    fake.bridge.force({
      withheldSpans: [{ fromS: timeS - 140, toS: timeS - 10, text: 'No flow: nothing new reaches the sensor.' }],
    });
    await fake.page.waitForTimeout(500);
    expect(await ink()).toBeGreaterThan(before + 100);
    await pointAt(0.6);
    expect(await fake.page.textContent('.reading p')).toBe('No verdict: No flow: nothing new reaches the sensor.');
    await toLive();
    fake.bridge.force({});
  });

  it('broke no rule of its own policy and threw nothing', () => expect(fake.complaints).toEqual([]));
});
