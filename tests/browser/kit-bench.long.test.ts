import { readFileSync } from 'node:fs';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { checkResultSchema } from '../../src/core/job/bench-schema.ts';
import { readCertificates } from '../../src/run/calibration.ts';
import { hasChromium, launch } from './chromium.ts';
import { type KitWorld, kitWorld } from './kit-world.ts';

describe.skipIf(!hasChromium)('the kit bench in a browser (chromium)', () => {
  let browser: Browser;
  let world: KitWorld;
  let page: Page;
  const complaints: string[] = [];

  beforeAll(async () => {
    // Readings of eight seconds take two.
    world = await kitWorld(4);
    browser = await launch();
    page = await browser.newPage({ viewport: { width: 1280, height: 800 } });
    page.on('pageerror', (error) => complaints.push(error.message));
    await page.goto(`${world.server.url}/kit.html`);
    await page.waitForSelector('.channels');
  });
  afterAll(async () => {
    await browser?.close();
    await world?.stop();
  });

  const recorded = (): Promise<string> => page.locator('tr[data-channel=turbidity] .figure').innerText();
  const part = (name: string) => page.locator('.parts button', { hasText: name }).click();
  const readStandard = async (ntu: number, u: string): Promise<void> => {
    const before = await page.locator('.done tbody tr').count();
    world.water.turbidityNtu = ntu;
    await page.waitForTimeout(200);
    const fields = page.locator('.step form.row').first().locator('input');
    await fields.nth(0).fill(String(ntu));
    await fields.nth(1).fill(u);
    await page.locator('button', { hasText: 'Read it now' }).click();
    await expect.poll(() => page.locator('.done tbody tr').count()).toBe(before + 1);
  };

  it('shows the kit by name, its raw and its own values, and that nothing is calibrated', async () => {
    expect(await page.locator('.top .name').innerText()).toBe('urn:dev:mac:0200000000000007');
    expect(await page.locator('tr[data-channel=turbidity]').innerText()).toContain("none: the kit's own value");
    // 0.62 V, which the kit takes for 120 NTU.
    expect(Number.parseFloat(await recorded())).toBeGreaterThan(110);
  });

  it('asks the kit and tells the answer', async () => {
    await page.locator('button', { hasText: 'What are you?' }).click();
    const said = () => page.locator('.ask [role=status]').innerText();
    await expect.poll(said).toContain('Firmware virtual 1');
    await page.locator('button', { hasText: 'Blink' }).click();
    await expect.poll(said).toContain('its light blinks');
    for (const [typed, answer] of [
      ['fast', '"fast" is no number.'],
      ['9,5', '9.5 packs a second'],
      ['10', '10 packs a second'],
    ] as const) {
      await page.locator('.ask input').fill(typed);
      await page.locator('.ask button', { hasText: 'Set' }).click();
      await expect.poll(said).toContain(answer);
    }
  });

  it('guides a calibration, plots it, refuses nonsense, and readings go by it at once', async () => {
    await part('Calibrate');
    await readStandard(0.2, '0.1');
    await page.locator('button', { hasText: 'Work it out' }).click();
    await expect
      .poll(() => page.locator('.step .warn').allInnerTexts())
      .toEqual([expect.stringContaining('One standard is not enough')]);
    const fields = page.locator('.step form.row').first().locator('input');
    for (const [value, usual] of [
      ['100', '3'],
      ['0,5', '0.3'],
    ] as const) {
      await fields.nth(0).fill(value);
      expect(await fields.nth(1).inputValue()).toBe(usual);
    }
    await readStandard(100, '2');
    // Two lie on any line: how far they lie off says nothing, and the page says so.
    await page.locator('button', { hasText: 'Work it out' }).click();
    await page.locator('.facts', { hasText: 'not known: any two standards lie on a line' }).waitFor();
    await readStandard(800, '12');
    await page.locator('button', { hasText: 'Work it out' }).click();
    await page.waitForSelector('.residuals');
    // What would be kept is what is shown: another choice is worked out first.
    await page.locator('.step select').selectOption('steps');
    expect(await page.locator('.residuals').count()).toBe(0);
    expect(await page.locator('button', { hasText: 'Keep the certificate' }).count()).toBe(0);
    await page.locator('.step select').selectOption('line');
    await page.waitForSelector('.residuals');
    expect(await page.locator('.residuals .point').count()).toBe(6);
    expect(await page.locator('.facts').innerText()).toMatch(/Largest distance of a standard from it\s+[\d.]+ NTU/);
    expect(await page.locator('.facts').innerText()).toContain('3 × the noise in the lowest standard');
    await page.locator('.step input[maxlength="100"]').fill('A. Bench');
    await page.locator('button', { hasText: 'Keep the certificate' }).click();
    await page.waitForSelector('text=Kept as turbidity-0200000000000007-1');
    const [certificate] = readCertificates(world.store);
    expect(certificate?.curve).toMatchObject({ kind: 'line', b: expect.closeTo(800, -1) });
    expect(certificate?.who).toBe('A. Bench');
    world.water.turbidityNtu = 300;
    await part('Watch');
    await expect.poll(async () => Math.abs(Number.parseFloat(await recorded()) - 300)).toBeLessThan(5);
    expect(await page.locator('tr[data-channel=turbidity]').innerText()).toContain('by A. Bench, due');
    const told = world.store
      .openRun('r1')
      ?.events()
      .filter((e) => e.event.event === 'calibrated');
    expect(told?.map((e) => e.event.data?.['certificate'])).toEqual(['', 'turbidity-0200000000000007-1']);
  });

  it('checks the kit and gives the result away as JSON and as a page', async () => {
    await part('Check my kit');
    world.water.turbidityNtu = 20;
    world.water.pressureBar = 1.2;
    const seconds = page.locator('.bench .row input[size="4"]').last();
    const check = page.locator('button.go', { hasText: 'Check my kit' });
    for (const typed of ['ten', '2']) {
      await seconds.fill(typed);
      await check.click();
      await page.locator('.warn', { hasText: `A check takes 5 to 600 s, not "${typed}".` }).waitFor();
    }
    await seconds.fill('5');
    await check.click();
    await page.waitForSelector('[data-point=rate]');
    const [json] = await Promise.all([
      page.waitForEvent('download'),
      page.locator('button', { hasText: 'Save as JSON' }).click(),
    ]);
    const result = checkResultSchema.parse(JSON.parse(readFileSync(await json.path(), 'utf8')));
    expect(result.points.filter((p) => p.state === 'fix')).toEqual([]);
    // What could not be judged stands before what is right, and is counted: it is no proof.
    const unseen = result.points.filter((p) => p.state === 'not-seen');
    expect(unseen.map((p) => p.id)).toContain('restart');
    expect(await page.locator('.result h2').innerText()).toBe(`Nothing to fix, ${unseen.length} not seen`);
    expect(await page.locator('.points [data-point]').first().getAttribute('class')).toBe('is-not-seen');
    const [html] = await Promise.all([
      page.waitForEvent('download'),
      page.locator('button', { hasText: 'Save as a page' }).click(),
    ]);
    expect(readFileSync(await html.path(), 'utf8')).toContain('<h1>Kit check: nothing to fix, ');
  });

  it('says that the kit is gone, and lets nothing old look live', async () => {
    await part('Watch');
    world.kit.fault('stall');
    await page.waitForSelector('tr[data-channel=turbidity].is-old');
    expect(await recorded()).toContain('silent for');
    world.kit.fault('calm');
  });

  it('never complained', () => expect(complaints).toEqual([]));
});
