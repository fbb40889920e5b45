// Pictures of the kit's bench, made anew: npx tsx tests/browser/kit-pictures.ts [folder] [--all]
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { launch } from './chromium.ts';
import { kitWorld } from './kit-world.ts';

const folder = process.argv[2]?.startsWith('--') === false ? process.argv[2] : 'docs/pictures';
const all = process.argv.includes('--all');
mkdirSync(folder, { recursive: true });
const sizes = { desk: [1280, 800], upright: [800, 1280] } as const;

const world = await kitWorld(8);
const browser = await launch();
const page = await browser.newPage({ viewport: { width: 1280, height: 800 } });
await page.goto(`${world.server.url}/kit.html`);
await page.waitForSelector('.channels');

async function take(on: Page, name: string, every: boolean): Promise<void> {
  for (const [size, [width, height]] of Object.entries(sizes))
    for (const theme of ['light', 'dark']) {
      if (!every && (size !== 'desk' || theme !== 'light')) continue;
      await on.setViewportSize({ width, height });
      await on.evaluate((t) => {
        document.documentElement.dataset['theme'] = t;
      }, theme);
      await on.waitForTimeout(150);
      await on.screenshot({ path: join(folder, `kit-${name}-${size}-${theme}.png`), fullPage: true });
    }
}

await take(page, 'watch', all);
await page.locator('.parts button', { hasText: 'Calibrate' }).click();
for (const [ntu, u, what] of [
  [0.2, '0.1', 'clean water'],
  [20, '0.6', 'standard 20'],
  [100, '2', 'standard 100'],
  [400, '8', 'standard 400'],
] as const) {
  world.water.turbidityNtu = ntu * (ntu === 100 ? 1.02 : 1);
  await page.waitForTimeout(200);
  const fields = page.locator('.step form.row').first().locator('input');
  await fields.nth(0).fill(String(ntu));
  await fields.nth(1).fill(u);
  await fields.nth(2).fill(what);
  const before = await page.locator('.done tbody tr').count();
  await page.locator('button', { hasText: 'Read it now' }).click();
  await page.waitForFunction((n) => document.querySelectorAll('.done tbody tr').length > n, before);
}
await page.locator('button', { hasText: 'Work it out' }).click();
await page.waitForSelector('.residuals');
await take(page, 'calibrate', all);
await page.locator('.step input[maxlength="100"]').fill('A. Bench');
await page.locator('button', { hasText: 'Keep the certificate' }).click();
await page.waitForSelector('text=Kept as');
world.water.turbidityNtu = 35;
world.water.pressureBar = 1.31;
await page.locator('.parts button', { hasText: 'Watch' }).click();
await page.waitForTimeout(1500);
if (all) await take(page, 'calibrated', true);
await page.locator('.parts button', { hasText: 'Check my kit' }).click();
await page.locator('.bench .row input[size="4"]').last().fill('6');
await page.locator('button.go', { hasText: 'Check my kit' }).click();
await page.waitForTimeout(2000);
world.kit.fault('cut');
await page.waitForSelector('[data-point=rate]');
await take(page, 'check', all);
await browser.close();
await world.stop();
