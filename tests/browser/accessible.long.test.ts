import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { stageNames } from '../../src/core/job/event.ts';
import { breaches } from './axe.ts';
import { type BridgeProcess, startBridgeProcess } from './bridge-process.ts';
import { hasChromium, launch } from './chromium.ts';
import { goToStage } from './go-to-stage.ts';
import { type FakePage, openFake, twoPasses } from './fake-page.ts';

let browser: Browser;
let fake: FakePage;
let bridge: BridgeProcess;
let stages: Page;
let folder = '';

/** What breaks a rule in the light theme or in the dark one; the style sheets know no other difference than this mark. */
async function breachesInBoth(page: Page): Promise<string[]> {
  const found: string[] = [];
  for (const theme of ['light', 'dark']) {
    await page.evaluate((name) => (document.documentElement.dataset['theme'] = name), theme);
    found.push(...(await breaches(page)).map((breach) => `${theme}: ${breach}`));
  }
  await page.evaluate(() => (document.documentElement.dataset['theme'] = 'light'));
  return found;
}

beforeAll(async () => {
  if (!hasChromium) return;
  folder = mkdtempSync(join(tmpdir(), 'limpid-axe-'));
  [bridge, browser] = await Promise.all([startBridgeProcess({ data: folder, speed: 20 }), launch()]);
  fake = await openFake(browser, { before: twoPasses });
  await fake.page.waitForSelector('.band');
  stages = await browser.newPage({ viewport: { width: 1280, height: 800 } });
  stages.setDefaultTimeout(60_000);
  await stages.goto(bridge.url);
});
afterAll(async () => {
  if (!hasChromium) return;
  await fake.close();
  await browser.close();
  await bridge.stop('SIGINT');
  rmSync(folder, { recursive: true, force: true });
});

describe.skipIf(!hasChromium)(
  'every screen keeps the rules of WCAG 2.2 AA that a program can check, light and dark',
  () => {
    it.each(stageNames)('stage %s', async (stage) => {
      await goToStage(stages, stage);
      await stages.waitForSelector(stage === 'emitters' ? '.rig .plan' : `.stage[data-stage="${stage}"]`);
      expect(await breachesInBoth(stages)).toEqual([]);
    });

    it('what was typed, to be put right', async () => {
      await goToStage(stages, 'dose');
      for (const litres of ['0.4', '50']) {
        await stages.locator('#dose-cleaner-litres').fill(litres);
        await stages.locator('[data-form="dose-cleaner"] .keep').click();
        await stages.locator('.condition-value', { hasText: litres === '50' ? '50.40' : '0.40' }).waitFor();
      }
      await stages.locator('[data-form="dose-cleaner"] .put-right').click();
      await stages.locator('.typed-choice').first().waitFor();
      expect(await breachesInBoth(stages)).toEqual([]);
      await stages.locator('.typed-choice').first().click();
      expect(await stages.locator('.why input').inputValue()).toBe('50');
      expect(await breachesInBoth(stages)).toEqual([]);
      await stages.getByRole('button', { name: 'Go back' }).click();
    });

    it('kit bench', async () => {
      const bench = await browser.newPage({ viewport: { width: 1280, height: 800 } });
      await bench.goto(`${bridge.url}/kit.html`);
      await bench.waitForSelector('.parts button');
      for (const part of await bench.locator('.parts button').all()) {
        await part.click();
        expect(await breachesInBoth(bench)).toEqual([]);
      }
      await bench.close();
    });

    it('what a tablet may do', async () => {
      const page = await browser.newPage();
      await page.goto(`${bridge.url}/trust.html`);
      await page.waitForSelector('.trust section');
      expect(await breachesInBoth(page)).toEqual([]);
      await page.close();
    });

    it('each verdict, and a reading in the chart', async () => {
      const kinds = ['idle', 'watching', 'carrying', 'settling', 'clear', 'done', 'cannot-tell'] as const;
      for (const kind of kinds) {
        fake.bridge.force({ band: { ...fake.bridge.view().band, kind } });
        await fake.page.waitForSelector(`.kind-${kind}`);
        expect(await breachesInBoth(fake.page)).toEqual([]);
      }
      await fake.page.locator('.plot').click({ position: { x: 300, y: 80 } });
      await fake.page.waitForSelector('.reading');
      expect(await breachesInBoth(fake.page)).toEqual([]);
      fake.bridge.force({});
    });

    it.each(['pulses', 'table'])('the chart as %s', async (look) => {
      await fake.page.selectOption('.plot-tools select', look);
      expect(await breachesInBoth(fake.page)).toEqual([]);
      await fake.page.selectOption('.plot-tools select', 'short');
    });

    it('alarms: three that stand, one of each rank', async () => {
      const alarm = {
        text: 'Pressure is 2.60 bar, over 2.50 bar.',
        toDo: 'Shut the filling loop.',
        otherwise: 'It opens.',
      };
      const of = (kind: string, priority: 'urgent' | 'prompt' | 'plain', stand: 'new' | 'seen' | 'gone') => ({
        ...alarm,
        kind,
        priority,
        stand,
        sinceS: fake.bridge.timeS - 20,
        isFirstUp: priority === 'urgent',
        mayShelve: priority !== 'urgent',
      });
      const shown = [
        of('pressure-high', 'urgent', 'new'),
        of('no-flow', 'prompt', 'seen'),
        of('sensor', 'plain', 'gone'),
      ];
      fake.bridge.force({ alarms: { shown, more: 2, shelved: [], heard: 1, isCalling: true } });
      await fake.page.getByText('Pressure is 2.60 bar').first().waitFor();
      expect(await breachesInBoth(fake.page)).toEqual([]);
      fake.bridge.force({});
    });

    it('the settings', async () => {
      await fake.page.getByRole('button', { name: 'Settings' }).click();
      await fake.page.getByText('Size of figures and buttons').click();
      expect(await breachesInBoth(fake.page)).toEqual([]);
      await fake.page.keyboard.press('Escape');
      await fake.page.waitForSelector('dialog.settings', { state: 'detached' });
    });

    it('while another device leads, and while the bridge is away', async () => {
      fake.bridge.force({ lead: 'device-of-another' });
      await fake.page.getByRole('button', { name: /Take the lead/ }).waitFor();
      expect(await breachesInBoth(fake.page)).toEqual([]);
      fake.bridge.force({});
      await fake.server.close();
      await fake.page.waitForSelector('.strip.is-lost');
      await fake.page.waitForSelector('.figure.is-gone');
      expect(await breachesInBoth(fake.page)).toEqual([]);
    });
  },
);
