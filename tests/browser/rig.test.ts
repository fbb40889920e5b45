import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type BridgeProcess, startBridgeProcess } from './bridge-process.ts';
import { hasChromium, launch } from './chromium.ts';

const speed = 40;
const patience = { timeout: 60_000 };

let folder = '';
let bridge: BridgeProcess;
let browser: Browser;
let page: Page;
const complaints: string[] = [];

async function open(url: string): Promise<Page> {
  const context = await browser.newContext({ viewport: { width: 1280, height: 800 } });
  const opened = await context.newPage();
  opened.on('pageerror', (error) => complaints.push(error.message));
  opened.on('console', (message) => {
    if (message.type() === 'error' && !message.text().includes('Failed to load')) complaints.push(message.text());
  });
  await opened.addInitScript(() => {
    const tones: number[] = [];
    Reflect.set(window, 'tones', tones);
    const start: unknown = Reflect.get(OscillatorNode.prototype, 'start');
    OscillatorNode.prototype.start = function (when?: number) {
      tones.push(this.frequency.value);
      if (typeof start === 'function') Reflect.apply(start, this, when === undefined ? [] : [when]);
    };
  });
  await opened.goto(url);
  await opened.waitForSelector('.band');
  return opened;
}

/** Press as a thumb does; those that ask for it are held. */
async function press(on: Page, name: RegExp): Promise<void> {
  const button = on.locator('.action', { hasText: name }).first();
  await button.waitFor(patience);
  const hold = (await button.locator('.hold-fill').count()) > 0;
  await button.click({ delay: hold ? 1700 : 60 });
}

const until = (on: Page, selector: string) => on.waitForSelector(selector, patience);

/** Which of the two came first, read in the moment in which it stood: at this speed it may be gone in the next. */
async function clearOrDone(on: Page): Promise<string> {
  const kind = await on.waitForFunction(
    () => ['clear', 'done'].find((k) => document.querySelector(`.kind-${k}`) !== null) ?? '',
    undefined,
    patience,
  );
  return kind.jsonValue();
}

/** Frequencies of the tones that the page has sounded since it was last asked. */
const tonesOf = (on: Page): Promise<number[]> => on.evaluate(() => Reflect.get(window, 'tones').splice(0));

/** Rows that the page has drawn from, and those that the bridge holds of the same span. */
async function rowsOf(on: Page): Promise<{ drawn: number; held: number }> {
  return on.evaluate(async () => {
    const detail = await new Promise<{ rows: number; oldestS: number; newest: { timeS: number } }>((resolve) => {
      addEventListener('drawn', (event) => event instanceof CustomEvent && resolve(event.detail), { once: true });
    });
    const answer = await fetch(`/api/trace?fromS=${detail.oldestS}&toS=${detail.newest.timeS}&points=100000`);
    const { rows } = await answer.json();
    return { drawn: detail.rows, held: rows.length };
  });
}

beforeAll(async () => {
  if (!hasChromium) return;
  folder = mkdtempSync(join(tmpdir(), 'limpid-page-'));
  [bridge, browser] = await Promise.all([startBridgeProcess({ data: folder, speed }), launch()]);
  page = await open(bridge.url);
});
afterAll(async () => {
  if (!hasChromium) return;
  await browser.close();
  await bridge.stop('SIGINT');
  rmSync(folder, { recursive: true, force: true });
});

describe.skipIf(!hasChromium)('the page beside the rig, in chromium against the running bridge', () => {
  it('offers the work behind the line only where there is some, and begins the emitters with the line', async () => {
    expect(await page.locator('.plan-head').textContent()).toContain('done');
    expect(await page.locator('button.plan-head').count()).toBe(0);
    await press(page, /Emitter by emitter/);
    await until(page, 'button.plan-head');
    expect(await page.locator('.band').count()).toBe(1);
  });

  it('leads through an emitter: open, passes, clear, done, the next', async () => {
    await press(page, /^Open /);
    await until(page, '.kind-watching, .kind-idle');
    const name = await page.textContent('.do-now b');
    const seen = new Set<string>();
    const cues = new Map<string, number[]>();
    await tonesOf(page);
    for (let pass = 0; pass < 12 && !seen.has('done'); pass += 1) {
      await press(page, /^Pass done/);
      await until(page, '.kind-watching, .kind-carrying, .kind-settling');
      const kind = await clearOrDone(page);
      seen.add(kind);
      cues.set(kind, (await tonesOf(page)).slice(-3));
    }
    expect([...seen]).toEqual(['clear', 'done']);
    const rising = (tones: number[] = []) =>
      tones.length > 1 && tones.every((hz, i) => i === 0 || hz > (tones[i - 1] ?? 0));
    expect(rising(cues.get('done'))).toBe(true);
    expect(cues.get('done')).toHaveLength(3);
    await press(page, /^Shut and open/);
    await page.waitForFunction((was) => document.querySelector('.do-now b')?.textContent !== was, name, patience);
    expect(await page.locator('.emitter.is-done').count()).toBe(1);
    expect(await page.locator('.emitter.is-open').count()).toBe(1);
  });

  it('leaves work undone only when it is told by holding, and not when the finger slides off', async () => {
    const before = await page.textContent('.do-now b');
    const held = page.locator('.action:has(.hold-fill)').first();
    await held.click({ delay: 300 });
    const box = await held.boundingBox();
    expect(box).not.toBeNull();
    await page.mouse.move((box?.x ?? 0) + 40, (box?.y ?? 0) + 40);
    await page.mouse.down();
    await page.mouse.move((box?.x ?? 0) + 40, (box?.y ?? 0) - 200, { steps: 4 });
    await page.waitForTimeout(1700);
    await page.mouse.up();
    const pass = page.locator('.action', { hasText: /^Pass done/ });
    const passBox = await pass.boundingBox();
    await page.mouse.move((passBox?.x ?? 0) + 40, (passBox?.y ?? 0) + 40);
    await page.mouse.down();
    await page.mouse.move((passBox?.x ?? 0) + 40, (passBox?.y ?? 0) - 200, { steps: 4 });
    await page.mouse.up();
    await page.waitForTimeout(300);
    expect(await page.textContent('.do-now b')).toBe(before);
    expect(await page.textContent('.emitter.is-open .emitter-gave')).not.toMatch(/pass/);
  });

  it('loses nothing by a reload', async () => {
    const before = await page.textContent('.do-now b');
    const done = await page.locator('.emitter.is-done').count();
    await page.reload();
    await until(page, '.band');
    expect(await page.textContent('.do-now b')).toBe(before);
    expect(await page.locator('.emitter.is-done').count()).toBe(done);
    await until(page, '.figure:not(.is-gone)');
  });

  it('keeps a tap made while the bridge is away, and sends it once when it is back', async () => {
    await bridge.stop('SIGKILL');
    await until(page, '.strip.is-lost');
    expect(await page.textContent('.strip.is-lost')).toMatch(/No word from the bridge|does not answer/);
    await press(page, /^Pass done/);
    await until(page, '.action.is-waiting .action-hint');
    expect(await page.textContent('.action.is-waiting')).toContain('waiting to be sent');
    await page.waitForFunction(() => document.querySelector('.figure.is-gone') !== null, null, patience);
    expect(await page.textContent('.figure .under')).toMatch(/^last .+ NTU, \d+ s ago$/);
    const passes = await page.textContent('.emitter.is-open .emitter-gave');
    expect(passes).not.toMatch(/pass/);

    bridge = await startBridgeProcess({ data: folder, speed, port: bridge.port });
    await until(page, 'header.strip');
    await page.waitForFunction(
      () => document.querySelector('.emitter.is-open .emitter-gave')?.textContent?.startsWith('1 pass'),
      null,
      patience,
    );
    await page.waitForTimeout(1500);
    expect(await page.textContent('.emitter.is-open .emitter-gave')).toMatch(/^1 pass\b(?!es)/);
    const { drawn, held } = await rowsOf(page);
    expect(held).toBeGreaterThan(1000);
    expect(drawn).toBe(held);
  });

  it('asks a device from the network for the pairing code before it may write', async (test) => {
    const lan = bridge.lan[0];
    if (lan === undefined) return test.skip('this machine has no network address');
    const tablet = await open(lan);
    await until(tablet, '.pairing');
    expect(await tablet.locator('.action', { hasText: 'Pass done' }).count()).toBe(0);
    await tablet.fill('#code', '000');
    await tablet.fill('#code', '0000');
    await tablet.click('.pairing button');
    await tablet.waitForFunction(() =>
      document.querySelector('.pairing label')?.textContent?.includes('not the pairing code'),
    );
    await tablet.fill('#code', bridge.code);
    await tablet.click('.pairing button');
    await until(tablet, '.actions .action');
    await tablet.reload();
    await until(tablet, '.actions .action');
    await tablet.context().close();
  });

  it.each([
    ['lying', 1280, 800],
    ['upright', 800, 1280],
  ])('fits a tablet %s, with figures and targets as large as field use asks', async (_name, width, height) => {
    await page.setViewportSize({ width, height });
    await page.waitForTimeout(300);
    const found = await page.evaluate(() => {
      const box = (selector: string) => document.querySelector(selector)?.getBoundingClientRect();
      const font = (selector: string) =>
        Number.parseFloat(getComputedStyle(document.querySelector(selector) ?? document.body).fontSize);
      const actions = [...document.querySelectorAll('.action')].map((e) => e.getBoundingClientRect());
      return {
        scrolls:
          document.documentElement.scrollHeight > innerHeight + 1 || document.documentElement.scrollWidth > innerWidth,
        words: font('.words'),
        digits: font('.digits'),
        figures: font('.small-figure'),
        wordsLines: (box('.words')?.height ?? 0) / font('.words'),
        plot: box('.plot')?.height ?? 0,
        actions: actions.map((a) => ({
          width: a.width,
          height: a.height,
          left: a.left,
          right: a.right,
          bottom: a.bottom,
        })),
      };
    });
    expect(found.scrolls).toBe(false);
    // Digits are about 0.72 of the font size; at 160 px to the inch 17.5 mm is 110 px, 12.8 mm 81 px, 9.3 mm 58 px.
    expect(found.digits * 0.72).toBeGreaterThanOrEqual(110);
    expect(found.words * 0.72).toBeGreaterThanOrEqual(80.6);
    expect(found.figures * 0.72).toBeGreaterThanOrEqual(58);
    expect(found.wordsLines).toBeLessThanOrEqual(2.2);
    expect(found.plot).toBeGreaterThanOrEqual(130);
    for (const action of found.actions) {
      expect(action.height).toBeGreaterThanOrEqual(126);
      expect(action.width).toBeGreaterThanOrEqual(126);
      expect(action.bottom).toBeLessThanOrEqual(height);
    }
    found.actions.slice(1).forEach((action, i) => {
      expect(action.left - (found.actions[i]?.right ?? 0)).toBeGreaterThanOrEqual(19);
    });
  });

  it.each([
    ['of 9.7 inch, 132 pixels to the inch', 1024, 768],
    ['whose browser keeps the top for itself', 1280, 690],
  ])('shows all at once on a tablet %s, buttons and plan included', async (_name, width, height) => {
    await page.setViewportSize({ width, height });
    await page.waitForTimeout(300);
    const found = await page.evaluate(() => {
      const font = (selector: string) =>
        Number.parseFloat(getComputedStyle(document.querySelector(selector) ?? document.body).fontSize);
      return {
        high: document.documentElement.scrollHeight,
        wide: document.documentElement.scrollWidth,
        words: font('.words'),
        digits: font('.digits'),
        lowest: Math.max(...[...document.querySelectorAll('.action')].map((e) => e.getBoundingClientRect().bottom)),
        cut: [...document.querySelectorAll('.action')].filter((e) => e.scrollHeight > e.clientHeight + 1).length,
      };
    });
    expect(found.high).toBeLessThanOrEqual(height + 1);
    expect(found.wide).toBeLessThanOrEqual(width);
    expect(found.lowest).toBeLessThanOrEqual(height);
    expect(found.cut).toBe(0);
    // At 132 pixels to the inch 17.5 mm is 91 px and 12.8 mm 66.5 px.
    expect(found.digits * 0.72).toBeGreaterThanOrEqual(90);
    expect(found.words * 0.72).toBeGreaterThanOrEqual(66);
  });

  it('shrinks to a narrow phone without scrolling sideways', async () => {
    await page.setViewportSize({ width: 320, height: 640 });
    await page.waitForTimeout(300);
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(320);
    await page.setViewportSize({ width: 1280, height: 800 });
  });

  it('follows the theme at one tap, charts included, and remembers it', async () => {
    // Pure black is drawn by the light theme alone. White says nothing: it is the dark ink, and the light paper round words.
    const isBlackDrawn = (expected: boolean) =>
      page.waitForFunction(
        (wanted) => {
          const canvas = document.querySelector<HTMLCanvasElement>('.plot canvas');
          const { width = 0, height = 0 } = canvas ?? {};
          const image = canvas?.getContext('2d')?.getImageData(0, 0, width, height);
          if (image === undefined) return false;
          const pixels = new Uint32Array(image.data.buffer);
          const drawn = pixels.some((pixel) => pixel !== 0);
          return drawn && pixels.includes(0xff_00_00_00) === wanted;
        },
        expected,
        patience,
      );
    await isBlackDrawn(true);
    await page.getByRole('button', { name: 'Dark' }).click();
    await isBlackDrawn(false);
    await page.reload();
    await until(page, '.band');
    expect(await page.evaluate(() => document.documentElement.dataset['theme'])).toBe('dark');
  });

  it('stands still when touched, and goes back to live by one button', async () => {
    await page.click('.plot');
    await until(page, '.back-to-live');
    await page.click('.back-to-live');
    await page.waitForSelector('.back-to-live', { state: 'detached' });
    expect(await page.locator('.plot-tools .tool').count()).toBe(1);
  });

  it('works by keyboard, with a name for each action', async () => {
    const names = await page.locator('.action').evaluateAll((all) => all.map((e) => e.getAttribute('aria-label')));
    expect(names.length).toBeGreaterThan(0);
    expect(names.every((name) => name !== null && name.length > 3)).toBe(true);
    const before = await page.textContent('.emitter.is-open .emitter-gave');
    await page.locator('.action', { hasText: 'Pass done' }).focus();
    await page.keyboard.press('Enter');
    await page.waitForFunction(
      (was) => document.querySelector('.emitter.is-open .emitter-gave')?.textContent !== was,
      before,
      patience,
    );
  });

  it('broke no rule of its own policy and threw nothing', () => expect(complaints).toEqual([]));
});
