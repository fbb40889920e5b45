import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { stageNames } from '../../src/core/job/event.ts';
import { type BridgeProcess, startBridgeProcess } from './bridge-process.ts';
import { hasChromium, launch, openTablet } from './chromium.ts';
import { goToStage } from './go-to-stage.ts';
import { addPhoto } from './walk-run.ts';

let folder = '';
let bridge: BridgeProcess;
let browser: Browser;
/** Beside the bridge, and so free to write. */
let worker: Page;
/** In the network, and not paired. */
let watcher: Page;
const refused: string[] = [];

beforeAll(async () => {
  if (!hasChromium) return;
  folder = mkdtempSync(join(tmpdir(), 'limpid-watcher-'));
  // In real time, so that what was told can be taken back all through a test.
  [bridge, browser] = await Promise.all([startBridgeProcess({ data: folder, speed: 1 }), launch()]);
  worker = await openTablet(browser, bridge.url);
  const lan = bridge.lan[0];
  if (lan === undefined) return;
  watcher = await openTablet(browser, lan);
  await watcher.waitForSelector('.pairing');
  watcher.on('response', (answer) => {
    if (answer.status() >= 400 && !answer.url().endsWith('/record')) refused.push(answer.url());
  });
});
afterAll(async () => {
  if (!hasChromium) return;
  await browser.close();
  await bridge.stop('SIGINT');
  rmSync(folder, { recursive: true, force: true });
});

/** Every button that is shown, pressed as from a keyboard, twice where it is to be held; what it opened is shut again. */
async function pressAll(page: Page): Promise<number> {
  const buttons = page.locator('main button:visible:not(.pairing button)');
  const count = await buttons.count();
  for (let i = 0; i < count; i += 1) {
    const button = buttons.nth(i);
    // The page may have changed under it.
    if ((await button.count()) === 0) break;
    await button.evaluate((e: HTMLElement) => {
      e.click();
      if (e.querySelector('.hold-fill')) e.click();
    });
    await page.keyboard.press('Escape');
    const back = page.locator('.why .tool, .back-to-line, .back-to-live').first();
    if ((await back.count()) > 0) await back.evaluate((e: HTMLElement) => e.click());
  }
  return count;
}

const linksOf = (page: Page): Promise<string[]> =>
  page.locator('main a:visible').evaluateAll((all) => all.map((a) => (a instanceof HTMLAnchorElement ? a.href : '')));

describe.skipIf(!hasChromium)('a device that may only watch', () => {
  it('is not offered to take back what another told', async (test) => {
    if (bridge.lan[0] === undefined) return test.skip('this machine has no network address');
    await goToStage(worker, 'emitters');
    await worker.locator('.action', { hasText: /^Open / }).click({ delay: 60 });
    // A notice can stand in the place of the list: there is all the same who is open.
    await watcher.waitForSelector('.emitter.is-open', { state: 'attached' });
    await worker.waitForSelector('.undo');
    expect(await watcher.locator('.undo').count()).toBe(0);
    expect(await worker.locator('.undo').count()).toBe(1);
  });

  it.each(stageNames)('is shown nothing in the stage %s that the bridge would refuse it', async (stage) => {
    if (bridge.lan[0] === undefined) return;
    await goToStage(worker, stage);
    await watcher.locator(stage === 'emitters' ? '.rig' : `.stage[data-stage="${stage}"]`).waitFor();
    if (stage === 'after-samples') {
      await addPhoto(worker, 'Two jars');
      await watcher.getByText('Pair this device to see the pictures.').waitFor();
    }
    expect(await pressAll(watcher)).toBeGreaterThan(3);
    for (const link of await linksOf(watcher))
      expect([link, (await watcher.request.get(link)).status()]).toEqual([link, 200]);
    expect(refused).toEqual([]);
  });

  it('reads of photos no smaller than of the rest', async (test) => {
    if (bridge.lan[0] === undefined) return test.skip('this machine has no network address');
    await goToStage(worker, 'after-samples');
    await watcher.locator('.stage[data-stage="after-samples"] .thumbs span').first().waitFor();
    const size = (selector: string) =>
      watcher
        .locator(selector)
        .first()
        .evaluate((e) => Number.parseFloat(getComputedStyle(e).fontSize));
    const rest = await size('.stage-foot');
    expect(await size('.photos p')).toBeGreaterThanOrEqual(rest);
    expect(await size('.thumbs span')).toBeGreaterThanOrEqual(rest);
  });
});
