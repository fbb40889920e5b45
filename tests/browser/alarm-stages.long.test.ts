import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type StageName, stageNames } from '../../src/core/job/event.ts';
import { hasChromium, launch } from './chromium.ts';
import { goToStage } from './go-to-stage.ts';
import { drawn, steppedWorld, type SteppedWorld } from './stepped-world.ts';

/** A whole run with an alarm over each of its stages: what a stage goes by is seen without scrolling all the same. */
let world: SteppedWorld;
let browser: Browser;
let page: Page;
const complaints: string[] = [];
const sizes = [
  [1280, 800],
  [800, 1280],
] as const;

const shown = () => world.rehearsal.run.view().alarms.shown;

/** Pressure over its limit; in the rinse, where the mains give it, water that stops. */
async function alarmIn(stage: StageName): Promise<void> {
  if (stage === 'rinse') world.rehearsal.fault('pump-off');
  for (let i = 0; i < 20 && shown().length === 0; i += 1) {
    if (stage !== 'rinse') world.rehearsal.rig.rig.pressure.letOut(-14);
    world.go(15);
  }
  await page.waitForSelector('.alarm.is-new');
}

async function calm(): Promise<void> {
  world.rehearsal.fault('calm');
  for (let i = 0; i < 20 && shown().length > 0; i += 1) {
    world.rehearsal.rig.rig.pressure.letOut(14);
    world.go(20);
    for (const { kind } of shown()) await world.tell('alarm-acknowledge', '', { note: kind });
  }
  await page.locator('.alarm').waitFor({ state: 'detached' });
}

/** What is not whole of buttons, words and chart, or has too little room. */
async function cut(height: number): Promise<string[]> {
  const { actions, words, chart, body, lowestFigure } = await edges();
  const out: string[] = [];
  if (actions.bottom > height) out.push('buttons under the edge of the screen');
  if (words.bottom > actions.top) out.push('words behind the buttons');
  if (chart !== null && chart.bottom > actions.top) out.push('chart behind the buttons');
  if (chart !== null && chart.bottom - chart.top < 200) out.push('chart too low');
  // Half the height is for the stage's own figures and forms, alarm or none.
  if (body !== null && body.bottom - body.top < height / 2) out.push('little room for figures and forms');
  // Upright the rinse shows all of it: the chart and each figure.
  if (chart !== null && body !== null && height > 1000 && lowestFigure > actions.top) out.push('a figure');
  return out;
}

/** Edges as they are seen; null of what does not stand there. */
async function edges() {
  return page.evaluate(() => {
    const boxes = (selector: string) =>
      [...document.querySelectorAll(selector)].map((element) => element.getBoundingClientRect());
    const none = { top: 0, bottom: Number.POSITIVE_INFINITY };
    return {
      actions: boxes('.actions')[0] ?? none,
      words: boxes('.words, .stage-words')[0] ?? none,
      chart: boxes('.plot')[0] ?? null,
      body: boxes('.stage-body')[0] ?? null,
      lowestFigure: Math.max(0, ...boxes('.condition').map((box) => box.bottom)),
    };
  });
}

beforeAll(async () => {
  if (!hasChromium) return;
  [world, browser] = await Promise.all([steppedWorld(3), launch()]);
  world.go(20);
  page = await browser.newPage({ viewport: { width: 1280, height: 800 } });
  page.on('pageerror', (error) => complaints.push(error.message));
  page.setDefaultTimeout(60_000);
  await page.goto(world.url);
  await page.waitForSelector('.band, .stage');
});
afterAll(async () => {
  if (!hasChromium) return;
  await browser.close();
  await world.close();
});

describe.skipIf(!hasChromium)('an alarm over a stage, in chromium against the bridge on stepped time', () => {
  it.each(stageNames)('%s: its words, its room and its chart stay whole', async (stage) => {
    await goToStage(page, stage);
    if (stage === 'emitters') {
      await world.tell('emitter-open', 'hall');
      await page.waitForSelector('.rig .band');
    } else await page.waitForSelector(`.stage[data-stage="${stage}"]`);
    world.go(60);
    for (const when of ['calm', 'alarm'] as const) {
      if (when === 'alarm') await alarmIn(stage);
      for (const [width, height] of sizes) {
        await page.setViewportSize({ width, height });
        await drawn(page);
        expect((await cut(height)).map((what) => `${when}, ${width} by ${height}: ${what}`)).toEqual([]);
      }
    }
    await calm();
  });

  it('threw nothing', () => expect(complaints).toEqual([]));
});
