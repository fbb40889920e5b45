import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { hasChromium, launch } from './chromium.ts';
import { lineDe } from '../../src/core/message/de/line.ts';
import { figureScale, ntuText } from '../../dashboards/shared/format.ts';
import { type FakePage, openFake, twoPasses } from './fake-page.ts';

/**
 * Sizes as a person meets them: a figure of 17.5 mm is read at two metres within 30 minutes of arc, 12.8 mm within 22
 * (height = 2 d tan(a/2)); 20 mm is a target for a wet glove. Millimetres by the pixels to the inch of the tablet.
 */
interface Tablet {
  readonly name: string;
  /** CSS pixels, lying. */
  readonly size: readonly [number, number];
  readonly perInch: number;
  readonly digitsMm: number;
  readonly wordsMm: number;
  readonly targetMm: number;
}

const tablets: readonly Tablet[] = [
  { name: '8 inch', size: [1024, 640], perInch: 151, digitsMm: 12.8, wordsMm: 9.3, targetMm: 15 },
  { name: '9.7 inch', size: [1024, 768], perInch: 132, digitsMm: 17.5, wordsMm: 12.8, targetMm: 20 },
  { name: '10 inch', size: [1280, 800], perInch: 160, digitsMm: 17.5, wordsMm: 12.8, targetMm: 20 },
  { name: '11 inch', size: [1194, 834], perInch: 132, digitsMm: 17.5, wordsMm: 12.8, targetMm: 20 },
  { name: '12.9 inch', size: [1366, 1024], perInch: 132, digitsMm: 17.5, wordsMm: 12.8, targetMm: 20 },
];

/** Capital letters and digits stand about 0.72 of the font size high. */
const capShare = 0.72;
const words = [
  'Watching the return',
  'Dirty water coming',
  'Falling',
  'Clear: shake again',
  'Done: shut it',
  'Cannot tell',
];

let browser: Browser;
let fake: FakePage;

beforeAll(async () => {
  if (!hasChromium) return;
  browser = await launch();
  fake = await openFake(browser, { before: twoPasses });
  await fake.page.waitForSelector('.plot canvas');
});
afterAll(async () => {
  if (!hasChromium) return;
  await fake.close();
  await browser.close();
});

async function measure(): Promise<{
  digits: number;
  words: number;
  action: number;
  lowest: number;
  wide: number;
  high: number;
  cut: number;
  plot: number;
}> {
  return fake.page.evaluate(() => {
    const font = (selector: string) =>
      Number.parseFloat(getComputedStyle(document.querySelector(selector) ?? document.body).fontSize);
    const actions = [...document.querySelectorAll('.action')].map((e) => e.getBoundingClientRect());
    const said = document.querySelector('.words');
    return {
      digits: font('.digits'),
      words: font('.words'),
      action: Math.min(...actions.map((a) => Math.min(a.width, a.height))),
      lowest: Math.max(...actions.map((a) => a.bottom)),
      wide: document.documentElement.scrollWidth,
      high: document.documentElement.scrollHeight,
      cut: (said?.scrollWidth ?? 0) - (said?.clientWidth ?? 0),
      plot: document.querySelector('.plot')?.getBoundingClientRect().height ?? 0,
    };
  });
}

/** The page turned: the charts follow a moment after the layout. */
async function turn(width: number, height: number): Promise<void> {
  await fake.page.setViewportSize({ width, height });
  await fake.page.evaluate(() => new Promise((done) => requestAnimationFrame(() => setTimeout(done, 300))));
}

const cases = tablets.flatMap((tablet) => [
  { tablet, way: 'lying', width: tablet.size[0], height: tablet.size[1] },
  { tablet, way: 'upright', width: tablet.size[1], height: tablet.size[0] },
]);

describe.skipIf(!hasChromium)('sizes on a tablet, in millimetres', () => {
  it.each(cases)('$tablet.name, $way', async ({ tablet, width, height }) => {
    await turn(width, height);
    const mm = (px: number) => (px * 25.4) / tablet.perInch;
    for (const said of words) {
      fake.bridge.force({ band: { ...fake.bridge.view().band, words: said } });
      await fake.page.waitForFunction((text) => document.querySelector('.words')?.textContent === text, said);
      const found = await measure();
      expect(mm(found.digits * capShare), `live figure under "${said}"`).toBeGreaterThanOrEqual(tablet.digitsMm - 0.15);
      expect(mm(found.words * capShare), `the words "${said}"`).toBeGreaterThanOrEqual(tablet.wordsMm - 0.1);
      expect(mm(found.action), 'a button').toBeGreaterThanOrEqual(tablet.targetMm - 0.1);
      expect(found.lowest, 'buttons on the screen').toBeLessThanOrEqual(height);
      expect(found.wide, 'no scrolling sideways').toBeLessThanOrEqual(width);
      expect(found.high, 'no scrolling down').toBeLessThanOrEqual(height + 1);
      expect(found.cut, `"${said}" whole`).toBeLessThanOrEqual(1);
      expect(found.plot, 'room for the trace').toBeGreaterThanOrEqual(90);
    }
  });

  it.each(['lying', 'upright'] as const)('the longest reason leaves chart and buttons on the page, %s', async (way) => {
    const [width, height] = way === 'lying' ? [1280, 800] : [800, 1280];
    await turn(width, height);
    const figures = {
      detectionNtu: 2.4,
      excessNtu: 12.3,
      backgroundNtu: 116,
      litresSincePassL: 112,
      litresNeededL: 12.9,
    };
    const reason = lineDe.done({ ...figures, reckonedLpm: 10.2 });
    fake.bridge.force({ band: { ...fake.bridge.view().band, reason } });
    await fake.page.waitForFunction((text) => document.querySelector('.reason')?.textContent === text, reason);
    const found = await measure();
    expect(found.lowest).toBeLessThanOrEqual(height);
    expect(found.plot).toBeGreaterThanOrEqual(150);
    fake.bridge.force({});
  });

  it('a phone shows the same, scrolling down only, its buttons always in reach', async () => {
    await turn(390, 844);
    const found = await measure();
    expect(found.wide).toBeLessThanOrEqual(390);
    expect(found.lowest).toBeLessThanOrEqual(845);
    expect(found.action).toBeGreaterThanOrEqual(94);
  });

  it('are true millimetres once the box was made as wide as a bank card, and stay so', async () => {
    await turn(1280, 800);
    const perMm = (): Promise<number> =>
      fake.page.evaluate(() => {
        const box = document.querySelector('.card-box')?.getBoundingClientRect();
        return (box?.width ?? 0) / 85.6;
      });
    await fake.page.getByRole('button', { name: 'Settings' }).click();
    await fake.page.getByText('Size of figures and buttons').click();
    for (let i = 0; i < 9; i += 1) await fake.page.getByRole('button', { name: 'Wider' }).click();
    const px = await perMm();
    expect(px).toBeGreaterThan(6.8);
    await fake.page.getByRole('button', { name: 'Close' }).click();
    const check = async (): Promise<void> => {
      const found = await measure();
      expect(found.digits * capShare).toBeGreaterThanOrEqual(17.4 * px);
      expect(found.words * capShare).toBeGreaterThanOrEqual(12.7 * px);
      expect(found.action).toBeGreaterThanOrEqual(20 * px);
      expect(found.lowest).toBeLessThanOrEqual(800);
      expect(found.wide).toBeLessThanOrEqual(1280);
    };
    await check();
    // However large: the words that need most room leave the buttons on the screen.
    fake.bridge.force({ band: { ...fake.bridge.view().band, words: 'Watching the return' } });
    await fake.page.waitForFunction(() => document.querySelector('.words')?.textContent === 'Watching the return');
    expect((await measure()).lowest).toBeLessThanOrEqual(800);
    fake.bridge.force({});
    await fake.page.reload();
    await fake.page.waitForSelector('.plot canvas');
    await check();
    await fake.page.getByRole('button', { name: 'Settings' }).click();
    await fake.page.getByText('Size of figures and buttons').click();
    await fake.page.getByRole('button', { name: 'As it was' }).click();
    await fake.page.getByRole('button', { name: 'Close' }).click();
  });

  it.each([
    [1280, 800],
    [800, 1280],
    [1024, 768],
    [768, 1024],
    [1024, 640],
    [600, 960],
    [360, 740],
  ])('no figure stands in its unit: %d x %d', async (width, height) => {
    await turn(width, height);
    const figures = [0.2, 7.3, 320, 1250, 12_500].map((ntu) => ({
      text: ntuText(ntu),
      scale: figureScale(ntuText(ntu)),
    }));
    const over = await fake.page.evaluate((all) => {
      const digits = document.querySelector<HTMLElement>('.digits > span');
      const unit = document.querySelector('.unit')?.getBoundingClientRect();
      if (digits === null || unit === undefined) return ['no figure'];
      const [before, size] = [digits.textContent, digits.style.fontSize];
      const out = all.filter(({ text, scale }) => {
        digits.textContent = text;
        digits.style.fontSize = `${scale}em`;
        return digits.getBoundingClientRect().right > unit.left + 5;
      });
      digits.textContent = before;
      digits.style.fontSize = size;
      return out.map((f) => f.text);
    }, figures);
    expect(over).toEqual([]);
  });

  it('digits keep their place: no figure moves sideways when it changes', async () => {
    await turn(1280, 800);
    const widths = await fake.page.evaluate(() => {
      const digits = document.querySelector('.digits > span');
      if (digits === null) return [];
      const before = digits.textContent;
      const all = Array.from({ length: 100 }, (_, i) => {
        digits.textContent = String(10 + (i % 90));
        return digits.getBoundingClientRect().width;
      });
      digits.textContent = before;
      return all;
    });
    expect(new Set(widths).size).toBe(1);
  });
});
