import { existsSync } from 'node:fs';
import { type Browser, chromium, type Page } from 'playwright-core';

/** The installed browser; nothing is downloaded. Its place can be told by LIMPID_CHROMIUM. */
const path = process.env['LIMPID_CHROMIUM'] ?? '/usr/bin/chromium';
export const hasChromium = existsSync(path);

export function launch(): Promise<Browser> {
  return launchWith([]);
}

/** @param further Switches of the browser beside the usual ones. */
export function launchWith(further: readonly string[]): Promise<Browser> {
  return chromium.launch({
    executablePath: path,
    args: [
      '--headless',
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
      ...further,
    ],
  });
}

/** A rig page on a tablet of its own, once it stands; a slow machine is given a minute. */
export async function openTablet(browser: Browser, url: string): Promise<Page> {
  const context = await browser.newContext({ viewport: { width: 1280, height: 800 } });
  const page = await context.newPage();
  page.setDefaultTimeout(60_000);
  await page.goto(url);
  await page.waitForSelector('.band, .stage');
  return page;
}
