import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import pixelmatch from 'pixelmatch';
import type { Browser, Page } from 'playwright-core';
import { PNG } from 'pngjs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { hasChromium, launch } from './chromium.ts';
import { type FakePage, openFake, twoPasses } from './fake-page.ts';

/**
 * The page as it was last looked at and found good. Made anew, after looking, by
 * LIMPID_PICTURES=renew npx vitest run -c .config/vitest.ts tests/browser/look.long.test.ts
 */
const folder = join(import.meta.dirname, 'look');
const renew = process.env['LIMPID_PICTURES'] === 'renew';
/** Share of the pixels that may differ: edges of letters are drawn a little otherwise from one build to the next. */
const tolerance = 0.004;

let browser: Browser;
let fake: FakePage;
let stopBeats = () => {};
let isSameFont = true;
const otherFont = 'the letters of this machine are not those of the pictures: apt-get install fonts-dejavu-core';

/** Widths of a few letters: other fonts would differ in every word, which is no fault of the page. */
async function fontWidths(page: Page): Promise<string> {
  return page.evaluate(() => {
    const ctx = document.createElement('canvas').getContext('2d');
    if (ctx === null) return '';
    return ['400', '700']
      .map((weight) => {
        ctx.font = `${weight} 100px system-ui, sans-serif`;
        return Math.round(ctx.measureText('Watching 0123456789').width);
      })
      .join(' ');
  });
}

beforeAll(async () => {
  if (!hasChromium) return;
  browser = await launch();
  // The water stands still, so that a picture is the same each time; the beats go on, or it would be taken for lost.
  fake = await openFake(browser, { before: twoPasses });
  await fake.page.waitForSelector('.plot canvas');
  const timer = setInterval(() => fake.bridge.beat(), 300);
  stopBeats = () => clearInterval(timer);
  const widths = await fontWidths(fake.page);
  const file = join(folder, 'font-widths.txt');
  if (renew) {
    mkdirSync(folder, { recursive: true });
    writeFileSync(file, widths);
  }
  isSameFont = existsSync(file) && readFileSync(file, 'utf8') === widths;
  if (!isSameFont && process.env['LIMPID_PEERS'] === 'required') throw new Error(otherFont);
});
afterAll(async () => {
  if (!hasChromium) return;
  stopBeats();
  await fake.close();
  await browser.close();
});

/** The page once it has come to rest: on a busy machine its parts find their places one after another. */
async function still(): Promise<Buffer> {
  const look = () => fake.page.screenshot({ animations: 'disabled', caret: 'hide' });
  await fake.page.waitForTimeout(900);
  let last = await look();
  for (let looks = 0; looks < 10; looks += 1) {
    await fake.page.waitForTimeout(300);
    const now = await look();
    if (now.equals(last)) break;
    last = now;
  }
  return last;
}

async function compare(name: string): Promise<number> {
  const now = await still();
  const file = join(folder, `${name}.png`);
  if (renew) writeFileSync(file, now);
  const [stored, taken] = [PNG.sync.read(readFileSync(file)), PNG.sync.read(now)];
  expect([taken.width, taken.height]).toEqual([stored.width, stored.height]);
  const difference = new PNG({ width: stored.width, height: stored.height });
  const count = pixelmatch(stored.data, taken.data, difference.data, stored.width, stored.height, { threshold: 0.15 });
  const share = count / (stored.width * stored.height);
  if (share > tolerance) {
    mkdirSync('.cache/look', { recursive: true });
    writeFileSync(join('.cache/look', `${name}.png`), now);
    writeFileSync(join('.cache/look', `${name}-difference.png`), PNG.sync.write(difference));
  }
  return share;
}

const lookAt = async (theme: 'light' | 'dark', width: number, height: number): Promise<void> => {
  await fake.page.setViewportSize({ width, height });
  const button = fake.page.getByRole('button', { name: theme === 'dark' ? 'Dark' : 'Light', exact: true });
  if ((await button.count()) > 0) await button.click();
};

describe.skipIf(!hasChromium)('the page looks as it did when it was last looked at', () => {
  it.for([
    ['settling-lying-light', 'light', 1280, 800],
    ['settling-upright-dark', 'dark', 800, 1280],
    ['settling-phone-light', 'light', 390, 844],
  ] as const)('%s', async ([name, theme, width, height], test) => {
    if (!isSameFont) return test.skip(otherFont);
    await lookAt(theme, width, height);
    expect(await compare(name)).toBeLessThanOrEqual(tolerance);
  });

  it('no-verdict-lying-dark: hatched, with the reason in the chart', async (test) => {
    if (!isSameFont) return test.skip(otherFont);
    const { timeS } = fake.bridge;
    const reason = 'No flow: nothing new reaches the sensor. Check pump, valves and hoses.';
    fake.bridge.force({
      band: { ...fake.bridge.view().band, kind: 'cannot-tell', words: 'Cannot tell', reason },
      withheldSpans: [{ fromS: timeS - 90, toS: null, text: reason }],
    });
    await lookAt('dark', 1280, 800);
    expect(await compare('no-verdict-lying-dark')).toBeLessThanOrEqual(tolerance);
    fake.bridge.force({});
  });

  it('would notice a button that moved', async (test) => {
    if (!isSameFont || renew) return test.skip(otherFont);
    await lookAt('light', 1280, 800);
    await fake.page.evaluate(() =>
      document.querySelector<HTMLElement>('.actions')?.style.setProperty('padding-left', '90px'),
    );
    expect(await compare('settling-lying-light')).toBeGreaterThan(tolerance);
    await fake.page.evaluate(() =>
      document.querySelector<HTMLElement>('.actions')?.style.removeProperty('padding-left'),
    );
  });
});

describe.skipIf(!hasChromium)('nothing is lost', () => {
  it.each([
    ['at 200 % on a tablet', 640, 400],
    ['at 400 % on a tablet, 320 pixels wide', 320, 256],
  ])('%s', async (_name, width, height) => {
    await lookAt('light', width, height);
    await fake.page.waitForTimeout(400);
    const found = await fake.page.evaluate(() => {
      const hidden = (e: Element) =>
        e.closest('.for-readers, canvas, .plot, .marks, [aria-hidden="true"], .emitters') !== null;
      const cut = [...document.querySelectorAll('p, h1, h2, button, li, span, label')]
        .filter((e) => !hidden(e) && e.childElementCount === 0 && (e.textContent ?? '').trim() !== '')
        .filter((e) => e instanceof HTMLElement && e.offsetParent !== null)
        .filter((e) => e.scrollWidth > e.clientWidth + 2 && getComputedStyle(e).display !== 'inline')
        .filter((e) => getComputedStyle(e).textOverflow !== 'ellipsis')
        .map((e) => `${e.className}: ${e.textContent ?? ''}`);
      const actions = [...document.querySelectorAll('.action')].map((e) => e.getBoundingClientRect());
      return {
        wide: document.documentElement.scrollWidth,
        actions: actions.filter((a) => a.left < 0 || a.right > innerWidth + 1).length,
        cut,
      };
    });
    expect(found.wide).toBeLessThanOrEqual(width);
    expect(found.actions).toBe(0);
    expect(found.cut).toEqual([]);
  });

  it('for whoever wants no motion: what is held fills by steps, nothing else moves', async () => {
    await fake.page.emulateMedia({ reducedMotion: 'reduce' });
    await lookAt('light', 1280, 800);
    const moving = await fake.page.evaluate(() => {
      const held = document.querySelector('.action:has(.hold-fill)');
      held?.classList.add('is-holding');
      const fill = document.querySelector('.is-holding .hold-fill');
      const steps = fill === null ? '' : getComputedStyle(fill).transitionTimingFunction;
      held?.classList.remove('is-holding');
      const others = [...document.querySelectorAll('*')].filter((e) => {
        const style = getComputedStyle(e);
        return (
          style.animationName !== 'none' || (style.transitionDuration !== '0s' && !e.classList.contains('hold-fill'))
        );
      });
      return { steps, others: others.map((e) => e.className) };
    });
    expect(moving.steps).toMatch(/^steps\(3/);
    expect(moving.others).toEqual([]);
    await fake.page.emulateMedia({ reducedMotion: 'no-preference' });
  });

  it('by keyboard: every control is reached in the order of the page, with its focus to be seen', async () => {
    await lookAt('light', 1280, 800);
    await fake.page.evaluate(() => document.body.focus());
    const seen: string[] = [];
    for (let i = 0; i < 40; i += 1) {
      await fake.page.keyboard.press('Tab');
      const at = await fake.page.evaluate(() => {
        const e = document.activeElement;
        if (!(e instanceof HTMLElement) || e === document.body) return null;
        const outline = getComputedStyle(e).outlineStyle;
        return `${e.getAttribute('aria-label') ?? e.textContent ?? ''}|${outline}`;
      });
      if (at === null) break;
      seen.push(at);
    }
    expect(seen.every((s) => s.endsWith('|solid'))).toBe(true);
    const index = (name: RegExp) => seen.findIndex((s) => name.test(s));
    expect(index(/^Settings/)).toBeLessThan(index(/^Chart of turbidity/));
    expect(index(/^Chart of turbidity/)).toBeLessThan(index(/^Pass done/));
    expect(index(/^Settings/)).toBeGreaterThanOrEqual(0);
    expect(index(/^Shut Living/)).toBeGreaterThan(index(/^Pass done/));
  });

  it('by single keys: 1 tells a pass, U takes it back, and they can be switched off', async () => {
    const passes = () => fake.bridge.posted.filter(({ event }) => event.event === 'agitate-end').length;
    const before = passes();
    await fake.page.locator('.reason').click();
    await fake.page.keyboard.press('1');
    await expect.poll(passes).toBe(before + 1);
    await fake.page.waitForSelector('.undo');
    await fake.page.keyboard.press('u');
    await expect.poll(() => fake.bridge.posted.at(-1)?.event.event).toBe('undo');
    // A pedal tells a pass also while the page says to wait and no button is filled in.
    await expect.poll(() => fake.page.locator('.action.is-primary').count()).toBe(0);
    // Sooner it would be the same press.
    await fake.page.waitForTimeout(3200);
    await fake.page.keyboard.press('PageDown');
    await expect.poll(passes).toBe(before + 2);
    await fake.page.getByRole('button', { name: 'Settings' }).click();
    await fake.page.getByRole('switch', { name: /^Keys/ }).click();
    await fake.page.getByRole('button', { name: 'Close' }).click();
    await fake.page.keyboard.press('1');
    await fake.page.waitForTimeout(500);
    expect(passes()).toBe(before + 2);
  });

  it('a press of the button on the kit is seen, said and heard', async () => {
    await fake.page.locator('.reason').click();
    await fake.page.evaluate(() => {
      const tones: number[] = [];
      const start: unknown = Reflect.get(OscillatorNode.prototype, 'start');
      OscillatorNode.prototype.start = function (when?: number) {
        tones.push(this.frequency.value);
        if (typeof start === 'function') Reflect.apply(start, this, when === undefined ? [] : [when]);
      };
      Reflect.set(window, 'kitTones', tones);
    });
    const label = "Pass by the kit's button: Living room, window";
    fake.bridge.force({
      undo: { id: 'pass-of-the-kit', label, untilS: fake.bridge.timeS + 10 },
      said: { [label]: { code: 'undo.pass-kit', params: { emitter: 'Living room, window' } } },
    });
    await fake.page.locator('.undo', { hasText: "Pass by the kit's button" }).waitFor();
    expect(await fake.page.evaluate(() => Reflect.get(window, 'kitTones'))).toEqual([1046]);
    fake.bridge.force({});
  });

  it('sound, vibration and the waking screen are switched off one by one, and stay so', async () => {
    await fake.page.getByRole('button', { name: 'Settings' }).click();
    for (const name of [/^Sound/, /^Vibration/, /^Keep the screen on/]) {
      await fake.page.getByRole('switch', { name }).click();
      expect(await fake.page.getByRole('switch', { name }).getAttribute('aria-checked')).toBe('false');
    }
    await fake.page.reload();
    await fake.page.waitForSelector('.band');
    expect(await fake.page.textContent('.strip')).toContain('sound off');
    expect(await fake.page.textContent('.strip')).toContain('screen may sleep');
    const tones = await fake.page.evaluate(() => {
      let count = 0;
      const start: unknown = Reflect.get(OscillatorNode.prototype, 'start');
      OscillatorNode.prototype.start = function (when?: number) {
        count += 1;
        if (typeof start === 'function') Reflect.apply(start, this, when === undefined ? [] : [when]);
      };
      Reflect.set(window, 'tonesSoFar', () => count);
      return count;
    });
    await fake.page.locator('.reason').click();
    for (const kind of ['watching', 'clear', 'done', 'cannot-tell'] as const) {
      fake.bridge.force({ band: { ...fake.bridge.view().band, kind } });
      await fake.page.waitForSelector(`.kind-${kind}`);
    }
    expect(await fake.page.evaluate(() => Reflect.get(window, 'tonesSoFar')())).toBe(tones);
    fake.bridge.force({});
  });

  it('the volume is tried at the start: a cue, and whether it was heard', async () => {
    await fake.page.getByRole('button', { name: 'Settings' }).click();
    await fake.page.getByRole('switch', { name: /^Sound/ }).click();
    await fake.page.getByRole('button', { name: 'Close' }).click();
    await fake.page.getByRole('button', { name: 'Test the sound' }).click();
    await fake.page.getByRole('button', { name: 'No', exact: true }).click();
    await fake.page.locator('.aside.is-warn', { hasText: 'Turn up the volume' }).waitFor();
    await fake.page.getByRole('button', { name: 'Test the sound' }).click();
    await fake.page.getByRole('button', { name: 'Yes', exact: true }).click();
    await expect.poll(() => fake.page.textContent('.strip')).toContain('sound on');
  });

  it('threw nothing', () => expect(fake.complaints).toEqual([]));
});
