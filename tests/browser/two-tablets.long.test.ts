import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type BridgeProcess, startBridgeProcess } from './bridge-process.ts';
import { hasChromium, launch, openTablet } from './chromium.ts';

let folder = '';
let bridge: BridgeProcess;
let browser: Browser;
let first: Page;
let second: Page;

async function press(on: Page, name: RegExp): Promise<void> {
  const button = on.locator('.action', { hasText: name }).first();
  await button.waitFor();
  const hold = (await button.locator('.hold-fill').count()) > 0;
  await button.click({ delay: hold ? 1700 : 60 });
}

async function lead(on: Page): Promise<void> {
  await on.getByRole('button', { name: 'Settings' }).click();
  await on.locator('.setting', { hasText: 'Take the lead' }).getByRole('button').click();
  await on.getByText('This device leads: the others').waitFor();
  await on.keyboard.press('Escape');
}

beforeAll(async () => {
  if (!hasChromium) return;
  folder = mkdtempSync(join(tmpdir(), 'limpid-two-'));
  [bridge, browser] = await Promise.all([startBridgeProcess({ data: folder, speed: 20 }), launch()]);
});
afterAll(async () => {
  if (!hasChromium) return;
  await browser.close();
  await bridge.stop('SIGINT');
  rmSync(folder, { recursive: true, force: true });
});

describe.skipIf(!hasChromium)('two tablets at one rig', () => {
  it('show the same, one leads, the lead is handed over, and each sees it at once', async (test) => {
    const lan = bridge.lan[0];
    if (lan === undefined) return test.skip('this machine has no network address');
    first = await openTablet(browser, bridge.url);
    second = await openTablet(browser, lan);
    await second.fill('#code', bridge.code);
    await second.click('.pairing button');
    await second.waitForSelector('.actions .action');

    await press(first, /Emitter by emitter/);
    await press(first, /^Open /);
    await second.waitForSelector('.emitter.is-open', { state: 'attached' });
    expect(await second.textContent('.do-now b')).toBe(await first.textContent('.do-now b'));

    await lead(first);
    await second.getByText('Another device leads this run').waitFor();
    expect(await second.locator('.actions .action').count()).toBe(0);
    await press(first, /^Pass done/);
    const passed = (page: Page) =>
      page.waitForFunction(() =>
        document.querySelector('.emitter.is-open .emitter-gave')?.textContent?.includes('1 pass'),
      );
    await Promise.all([passed(first), passed(second)]);

    await press(second, /Take the lead/);
    await second.waitForSelector('.actions .action');
    await first.getByText('Another device leads this run').waitFor();
    expect(await first.locator('.actions .action').count()).toBe(0);
  });

  it('what the one that no longer leads still had waiting is refused with a reason, and nothing is done', async (test) => {
    if (bridge.lan[0] === undefined) return test.skip('this machine has no network address');
    const refused = await first.evaluate(async () => {
      const headers = { 'content-type': 'application/json' };
      const view = await (await fetch('/api/view')).json();
      const body = JSON.stringify({ id: 'late-pass-of-first', event: 'agitate-end', emitter: view.openEmitter });
      const answer = await fetch('/api/events', { method: 'POST', headers, body });
      return { status: answer.status, ...(await answer.json()) };
    });
    expect(refused).toMatchObject({ status: 409, code: 'job.not-leading' });
    expect(refused.text).toContain('Take the lead first');
  });
});
