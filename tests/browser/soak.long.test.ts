import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { CDPSession } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { startBridgeProcess } from './bridge-process.ts';
import { hasChromium, launch } from './chromium.ts';
import { press } from './walk-run.ts';

/** Bytes that the page holds after everything it no longer needs was taken away, and its nodes. */
async function held(client: CDPSession): Promise<{ heap: number; nodes: number }> {
  await client.send('HeapProfiler.collectGarbage');
  await client.send('HeapProfiler.collectGarbage');
  const { usedSize } = await client.send('Runtime.getHeapUsage');
  const { nodes } = await client.send('Memory.getDOMCounters');
  return { heap: usedSize, nodes };
}

describe.skipIf(!hasChromium)('an hour of a run, twenty times as fast, on one page', () => {
  it('leaves heap and page as large as they were', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'limpid-soak-'));
    const bridge = await startBridgeProcess({ data: folder, speed: 20 });
    const browser = await launch();
    const page = await browser.newPage({ viewport: { width: 1280, height: 800 } });
    await page.goto(bridge.url);
    await page.waitForSelector('.band');
    await press(page, /Emitter by emitter/);
    await press(page, /^Open /);
    const client = await page.context().newCDPSession(page);
    const sizes: { heap: number; nodes: number }[] = [];
    for (let pass = 0; pass < 7; pass += 1) {
      // Three real minutes are an hour of the run; the first half minute fills what is bounded.
      await page.waitForTimeout(30_000);
      sizes.push(await held(client));
      await page
        .locator('.action', { hasText: /^Pass done/ })
        .first()
        .click({ delay: 60 });
      await page.locator('.plot').click({ position: { x: 300, y: 80 } });
      await page.locator('.back-to-live').click();
    }
    await browser.close();
    await bridge.stop('SIGINT');
    rmSync(folder, { recursive: true, force: true });
    const [first, last] = [sizes[0], sizes.at(-1)];
    console.log(JSON.stringify(sizes));
    expect((last?.heap ?? Number.POSITIVE_INFINITY) - (first?.heap ?? 0)).toBeLessThan(2_000_000);
    expect((last?.nodes ?? Number.POSITIVE_INFINITY) - (first?.nodes ?? 0)).toBeLessThan(500);
  }, 400_000);
});
