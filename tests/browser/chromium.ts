import { existsSync } from 'node:fs';
import { type Browser, chromium } from 'playwright-core';

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
