import type { Page } from 'playwright-core';
import { testPicture } from '../src/recording/test-picture.ts';

/** An engineer at the page: what is pressed and typed in each stage, from survey to hand-over. */
const patience = 240_000;

export async function press(page: Page, name: RegExp): Promise<void> {
  const button = page.locator('.action', { hasText: name }).first();
  await button.waitFor({ timeout: patience });
  const hold = (await button.locator('.hold-fill').count()) > 0;
  await button.click({ delay: hold ? 2200 : 60 });
}

async function fillIn(page: Page, form: string, values: Readonly<Record<string, string>>): Promise<void> {
  const at = page.locator(`[data-form="${form}"]`);
  for (const [name, value] of Object.entries(values)) {
    const field = at.locator(`#${form}-${name}`);
    if ((await field.evaluate((e) => e.tagName)) === 'SELECT') await field.selectOption(value);
    else await field.fill(value);
  }
  await at.locator('.keep').click();
}

async function tickAll(page: Page): Promise<void> {
  for (const label of await page
    .locator('.check:not(.is-done)')
    .evaluateAll((all) => all.map((e) => e.textContent ?? ''))) {
    if (/rig’s flow sensor|whole system/.test(label)) continue;
    await page.locator('.check', { hasText: label.replace('\u2713', '') }).click();
    await page.locator('.check.is-done', { hasText: label.replace('\u2713', '') }).waitFor();
  }
}

async function confirmCautions(page: Page): Promise<void> {
  const confirm = page.locator('.gating .confirm');
  for (let left = await confirm.count(); left > 0; left = await confirm.count()) {
    const title = await confirm.first().locator('b').textContent();
    await confirm.first().locator('.keep').click({ delay: 1700 });
    await page.locator('.gating .confirm', { hasText: title ?? '' }).waitFor({ state: 'detached' });
  }
}

const onward = async (page: Page, title: RegExp): Promise<void> => {
  await confirmCautions(page);
  await page.locator('.gate.is-open').waitFor({ timeout: patience });
  await press(page, title);
};

/** Called when a stage stands on the page, before anything is done in it and when its gate is open. */
export type Look = (page: Page, stage: string, when: 'begun' | 'open') => Promise<void>;

async function atStage(page: Page, name: string): Promise<void> {
  await page.locator(`.stage[data-stage="${name}"]`).waitFor({ timeout: patience });
}

async function emitters(page: Page): Promise<void> {
  await press(page, /^Open /);
  for (let pass = 0; pass < 14; pass += 1) {
    await press(page, /^Pass done/);
    await page.locator('.kind-watching, .kind-carrying, .kind-settling').first().waitFor({ timeout: patience });
    const band = page.locator('.kind-clear, .kind-done').first();
    await band.waitFor({ timeout: patience });
    if (((await band.getAttribute('class')) ?? '').includes('kind-done')) break;
  }
  await press(page, /^Shut (?!and)/);
  await page.locator('.emitter.is-done').first().waitFor();
  while ((await page.locator('.action', { hasText: /^Skip / }).count()) > 0) {
    const left = await page.locator('.emitter.is-to-come').count();
    await press(page, /^Skip /);
    await page.locator('.reason-choice').first().click();
    await page.waitForFunction((was) => document.querySelectorAll('.emitter.is-to-come').length < was, left);
  }
  await press(page, /Circulate/);
}

/** The whole run. */
export async function walkRun(page: Page, look: Look = async () => undefined): Promise<void> {
  const go = async (name: string, work: () => Promise<void>, next: RegExp): Promise<void> => {
    await atStage(page, name);
    await look(page, name, 'begun');
    await work();
    await confirmCautions(page);
    await page.locator('.gate.is-open').waitFor({ timeout: patience });
    await look(page, name, 'open');
    await onward(page, next);
  };
  await go('survey', () => fillIn(page, 'label-cleaner', { amount: '1', unit: 'l/100 l' }), /Test the water before/);
  await go(
    'before-samples',
    async () => {
      await fillIn(page, 'sample-mains', { conductivity: '420', turbidity: '0,4', ph: '7.4' });
      await fillIn(page, 'sample-before', { ph: '7.1', iron: '12' });
      await page.locator('.stage-table table').waitFor();
      await addPhoto(page, 'Two jars');
    },
    /Join the rig/,
  );
  await go(
    'join',
    async () => {
      await tickAll(page);
      await press(page, /Start the hold/);
    },
    /Fill cold/,
  );
  await go('fill', () => fillIn(page, 'typed-fill-litres', { value: '95' }), /Add cleaner/);
  await go('dose', () => fillIn(page, 'dose-cleaner', { litres: '0.9' }), /Warm up/);
  await go('warm', async () => undefined, /Half fill/);
  await go('half-fill', () => tickAll(page), /Emitter by emitter/);
  await page.locator('.rig').waitFor({ timeout: patience });
  await emitters(page);
  await go('circulate', () => tickAll(page), /Rinse cold/);
  await go('rinse', async () => undefined, /Test the water after/);
  await go(
    'after-samples',
    () => fillIn(page, 'sample-after', { conductivity: '430', turbidity: '1', ph: '8.6' }),
    /Refit and protect/,
  );
  await go(
    'protect',
    async () => {
      await tickAll(page);
      await fillIn(page, 'label-inhibitor', { amount: '1' });
      await fillIn(page, 'dose-inhibitor', { litres: '0.5' });
    },
    /Hand over/,
  );
  await atStage(page, 'hand-over');
  await look(page, 'hand-over', 'begun');
  await fillIn(page, 'hand-over', { engineer: 'A. Fitter', client: 'B. Owner' });
  await page.locator('.gate.is-open').waitFor({ timeout: patience });
  await look(page, 'hand-over', 'open');
}

/** A photo chosen from the device; the page shrinks it and shows it once it is kept. */
export async function addPhoto(page: Page, what: string): Promise<void> {
  const at = page.locator('.photos');
  await at.locator('#photo-what').fill(what);
  const buffer = Buffer.from(testPicture(320, 240));
  await at.locator('input[type=file]').setInputFiles({ name: 'photo.png', mimeType: 'image/png', buffer });
  await at.locator(`img[alt="${what}"]`).waitFor();
}

/** The record signed and closed, by holding; then what the page says of it. */
export async function sealRecord(page: Page): Promise<string> {
  await page.locator('.record .seal').click({ delay: 1700 });
  await page.locator('.record.is-sealed .record-check').waitFor({ timeout: patience });
  return (await page.locator('.record').textContent()) ?? '';
}

/** Past the usual greeting of a rehearsal, which begins with everything joined and filled. */
export async function beginAtSurvey(page: Page): Promise<void> {
  await page.waitForSelector('.band, .stage');
  await page.evaluate(async () => {
    const body = JSON.stringify({ id: 'begin-at-survey', event: 'stage:survey' });
    await fetch('/api/events', { method: 'POST', headers: { 'content-type': 'application/json' }, body });
  });
}
