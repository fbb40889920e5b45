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

const themes = ['light', 'dark'] as const;
type Theme = (typeof themes)[number];

async function inTheme(page: Page, theme: Theme): Promise<void> {
  await page.evaluate((name) => localStorage.setItem('limpid-theme', name), theme);
  await page.reload();
}

beforeAll(async () => {
  if (!hasChromium) return;
  folder = mkdtempSync(join(tmpdir(), 'limpid-axe-'));
  [bridge, browser] = await Promise.all([startBridgeProcess({ data: folder, speed: 20 }), launch()]);
  fake = await openFake(browser, { before: twoPasses });
  await fake.page.waitForSelector('.band');
  stages = await browser.newPage({ viewport: { width: 1280, height: 800 } });
  stages.setDefaultTimeout(12_000);
  await stages.goto(bridge.url);
});
afterAll(async () => {
  if (!hasChromium) return;
  await fake.close();
  await browser.close();
  await bridge.stop('SIGINT');
  rmSync(folder, { recursive: true, force: true });
});

describe.skipIf(!hasChromium)('every screen keeps the rules of WCAG 2.2 AA that a program can check', () => {
  describe.each(themes)('in the %s theme', (theme) => {
    it.each(stageNames)('stage %s', async (stage) => {
      await goToStage(stages, stage);
      await inTheme(stages, theme);
      await stages.waitForSelector(stage === 'emitters' ? '.rig .plan' : `.stage[data-stage="${stage}"]`);
      expect(await breaches(stages)).toEqual([]);
    });

    it('kit bench', async () => {
      const bench = await browser.newPage({ viewport: { width: 1280, height: 800 } });
      await bench.goto(`${bridge.url}/kit.html`);
      await inTheme(bench, theme);
      await bench.waitForSelector('.parts button');
      for (const part of await bench.locator('.parts button').all()) {
        await part.click();
        expect(await breaches(bench)).toEqual([]);
      }
      await bench.close();
    });

    it('what a tablet may do', async () => {
      const page = await browser.newPage();
      await page.goto(`${bridge.url}/trust.html`);
      await inTheme(page, theme);
      await page.waitForSelector('.trust section');
      expect(await breaches(page)).toEqual([]);
      await page.close();
    });

    it('each verdict, alarms, and a reading in the chart', async () => {
      await inTheme(fake.page, theme);
      const kinds = ['idle', 'watching', 'carrying', 'settling', 'clear', 'done', 'cannot-tell'] as const;
      for (const kind of kinds) {
        fake.bridge.force({ band: { ...fake.bridge.view().band, kind } });
        await fake.page.waitForSelector(`.kind-${kind}`);
        expect(await breaches(fake.page)).toEqual([]);
      }
      await fake.page.locator('.plot').click({ position: { x: 300, y: 80 } });
      await fake.page.waitForSelector('.reading');
      expect(await breaches(fake.page)).toEqual([]);
      fake.bridge.force({});
    });

    it.each(['pulses', 'table'])('the chart as %s', async (look) => {
      await fake.page.selectOption('.plot-tools select', look);
      expect(await breaches(fake.page)).toEqual([]);
      await fake.page.selectOption('.plot-tools select', 'short');
    });

    it('the settings', async () => {
      await fake.page.getByRole('button', { name: 'Settings' }).click();
      await fake.page.waitForSelector('dialog.settings');
      expect(await breaches(fake.page)).toEqual([]);
      await fake.page.keyboard.press('Escape');
      await fake.page.waitForSelector('dialog.settings', { state: 'detached' });
    });

    it('while another device leads', async () => {
      fake.bridge.force({ lead: 'device-of-another' });
      await fake.page.getByRole('button', { name: /Take the lead/ }).waitFor();
      expect(await breaches(fake.page)).toEqual([]);
      fake.bridge.force({});
    });
  });
});
