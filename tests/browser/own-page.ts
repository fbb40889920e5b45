import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, BrowserContextOptions, Page } from 'playwright-core';
import { afterAll, beforeAll } from 'vitest';
import { type BridgeProcess, startBridgeProcess } from './bridge-process.ts';
import { hasChromium, launch } from './chromium.ts';

/** For the tests of one file: a bridge of their own on the simulated rig, twenty times as fast, and its page. */
export function ownPage(options: BrowserContextOptions): () => Page {
  let folder = '';
  let bridge: BridgeProcess;
  let browser: Browser;
  let page: Page;
  beforeAll(async () => {
    if (!hasChromium) return;
    folder = mkdtempSync(join(tmpdir(), 'limpid-page-'));
    [bridge, browser] = await Promise.all([startBridgeProcess({ data: folder, speed: 20 }), launch()]);
    page = await browser.newPage(options);
    page.setDefaultTimeout(60_000);
    await page.goto(bridge.url);
  });
  afterAll(async () => {
    if (!hasChromium) return;
    await browser.close();
    await bridge.stop('SIGINT');
    rmSync(folder, { recursive: true, force: true });
  });
  return () => page;
}
