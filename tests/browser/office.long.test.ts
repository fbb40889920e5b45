import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { PNG } from 'pngjs';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { sealedFolder } from '../../src/recording/sealed.ts';
import { breaches } from './axe.ts';
import { hasChromium, launch } from './chromium.ts';
import { type OfficeWorld, officeWorld } from './office-world.ts';

const run = 'run-20260104-0001';

describe.skipIf(!hasChromium)('the office in a browser (chromium)', () => {
  let browser: Browser;
  let world: OfficeWorld;
  let page: Page;
  const complaints: string[] = [];

  beforeAll(async () => {
    world = await officeWorld({ runs: 4 });
    await world.audit.lookAtAll();
    browser = await launch();
    page = await browser.newPage({ viewport: { width: 1440, height: 900 }, acceptDownloads: true });
    page.on('pageerror', (error) => complaints.push(error.message));
  });
  afterAll(async () => {
    await browser?.close();
    await world?.stop();
  });

  const open = async (hash: string): Promise<void> => {
    await page.goto('about:blank');
    await page.goto(`${world.server.url}/audit.html${hash}`);
  };
  const drawn = async (): Promise<readonly [fromS: number, toS: number]> => {
    await page.waitForSelector('.lanes[data-drawn]');
    const [fromS = 0, toS = 0] = ((await page.getAttribute('.lanes', 'data-drawn')) ?? '').split(' ').map(Number);
    return [fromS, toS];
  };

  it('lists, searches and sorts', async () => {
    await open('');
    await page.waitForSelector('.runs tbody tr');
    expect(await page.locator('.runs tbody tr').count()).toBe(4);
    expect(await page.locator('.seal.is-changed').count()).toBe(1);
    await page.fill('input[type=search]', 'mill house');
    await expect.poll(() => page.locator('.runs tbody tr').count()).toBe(1);
    expect(page.url()).toContain('search=mill');
    await page.fill('input[type=search]', '');
    await expect.poll(() => page.locator('.runs tbody tr').count()).toBe(4);
    await page.click('th button:has-text("Engineer")');
    await page.waitForSelector('th[aria-sort=descending] >> text=Engineer');
    await expect.poll(() => page.locator('.runs tbody tr td:nth-child(4)').first().innerText()).toBe('C. Heating');
  });

  it('opens a run; a finding opens the chart where it happened, and the address opens the same view', async () => {
    await open(`#run=${run}`);
    const [fromS, toS] = await drawn();
    expect(fromS).toBe(0);
    await page.waitForSelector('.visits tbody tr');
    await page.locator('.evidence button').first().click();
    await expect.poll(async () => (await drawn())[1] - (await drawn())[0]).toBeLessThan(toS / 2);
    const view = await drawn();
    await expect.poll(() => page.url()).toMatch(/from=.*to=.*at=finding/);
    const address = new URL(page.url()).hash;
    await open(address);
    await expect.poll(async () => (await drawn())[0]).toBeCloseTo(view[0], 0);
    expect((await drawn())[1]).toBeCloseTo(view[1], 0);
    expect(await page.locator('.finding.is-here').count()).toBe(1);
  });

  it('is dragged, zoomed by wheel, keys and buttons, and never leaves the run', async () => {
    await open(`#run=${run}&from=2600&to=3200`);
    const [a, b] = await drawn();
    const box = await page.locator('.lanes').boundingBox();
    if (box === null) throw new Error('no chart');
    await page.mouse.move(box.x + 500, box.y + 90);
    await page.mouse.down();
    await page.mouse.move(box.x + 380, box.y + 90, { steps: 6 });
    await page.mouse.up();
    await expect.poll(async () => (await drawn())[0]).toBeGreaterThan(a + 20);
    expect((await drawn())[1] - (await drawn())[0]).toBeCloseTo(b - a, 0);
    await page.mouse.wheel(0, -400);
    await expect.poll(async () => (await drawn())[1] - (await drawn())[0]).toBeLessThan((b - a) * 0.7);
    await page.focus('.lanes');
    await page.keyboard.press('Home');
    await expect.poll(async () => (await drawn())[0]).toBe(0);
    for (let i = 0; i < 5; i++) await page.keyboard.press('ArrowLeft');
    expect((await drawn())[0]).toBe(0);
    await page.click('button[aria-label=Closer]');
    await expect.poll(async () => (await drawn())[0]).toBeGreaterThan(0);
  });

  it('draws ink for every channel, and none is drawn when it is not chosen', async () => {
    await open(`#run=${run}`);
    await drawn();
    const inked = (): Promise<string> =>
      page.evaluate(`(() => [...document.querySelectorAll('[data-lane]')].map((lane) => {
        const canvas = lane.querySelector('canvas');
        const { data, width } = canvas.getContext('2d').getImageData(60, 30, canvas.width - 80, canvas.height - 40);
        let n = 0;
        for (let i = 3; i < data.length; i += 4) if (data[i] > 200) n += 1;
        return lane.dataset.lane + (n > 40 ? ' ink' : ' empty');
      }).join())()`);
    expect(await inked()).toMatch(/^turbidityNtu ink,flowLpm ink,pressureBar ink,/);
    expect(await inked()).not.toContain('empty');
    await page.click('.choose summary');
    await page.click('.choose label:has-text("Flow")');
    await expect.poll(inked).not.toContain('flowLpm');
    expect(page.url()).toContain('channels=turbidityNtu');
  });

  it('closes a finding with its reason, comments and signs off; the seal stays intact', async () => {
    await open(`#run=${run}`);
    await page.waitForSelector('.finding');
    const before = await page.locator('.finding:not(.is-closed)').count();
    await page.locator('.finding summary').first().click();
    const form = page.locator('.finding .close-form').first();
    await form.locator('input[name=text]').fill('agreed with the client');
    await form.locator('input[name=by]').fill('D. Auditor');
    await form.locator('button').click();
    await expect.poll(() => page.locator('.finding:not(.is-closed)').count()).toBe(before - 1);
    await page.fill('.comments textarea', 'Visit 2 looked at again.');
    await page.click('.comments button:has-text("Sign off")');
    await expect.poll(() => page.locator('.run-head').innerText()).toContain('Signed off by D. Auditor');
    expect(await page.locator('.run-head .seal').innerText()).toContain('Seal intact');
  });

  it('judges the run again beside the original verdicts', async () => {
    await open(`#run=${run}`);
    await page.waitForSelector('.again form');
    await page.fill('.again input[name=clearNtu]', '0.01');
    await page.fill('.again input[name=clearShare]', '0.0001');
    await page.uncheck('.again input[name=hindsight]');
    await page.click('.again button:has-text("Judge again")');
    await page.waitForSelector('.again tbody tr.differs');
    await page.fill('.again input[name=clearNtu]', '-3');
    await page.click('.again button:has-text("Judge again")');
    await expect.poll(() => page.locator('.again .warn').innerText()).toContain('clearNtu');
  });

  it('says what was changed after a run was sealed', async () => {
    await open('#run=run-20260205-0002');
    await expect.poll(() => page.locator('.faults').innerText()).toMatch(/events\.csv, line \d+/);
    expect(await page.locator('.finding').first().innerText()).toMatch(/Record was changed.*events\.csv, line \d+/s);
  });

  it('one that was changed after it was looked at is looked at again as soon as it is opened', async () => {
    const file = join(sealedFolder(world.data, 'run-20260407-0004'), 'recording.csv');
    const whole = readFileSync(file);
    await open('#run=run-20260407-0004');
    await page.waitForSelector('.seal.is-intact');
    expect(await page.locator('.finding').first().innerText()).not.toContain('Record was changed');
    writeFileSync(file, whole.subarray(0, whole.length - 100));
    await open('#run=run-20260407-0004');
    await expect.poll(() => page.locator('.finding').first().innerText()).toContain('Record was changed');
    expect(await page.locator('.seal.is-changed').innerText()).toMatch(/Sealed by .*, and changed since/);
    writeFileSync(file, whole);
    await open('#run=run-20260407-0004');
    await expect.poll(() => page.locator('.finding').first().innerText()).not.toContain('Record was changed');
  });

  it('lets the chart go as SVG and as PNG', async () => {
    await open(`#run=${run}&from=2400&to=4000`);
    await page.waitForSelector('.files');
    const [svg] = await Promise.all([page.waitForEvent('download'), page.click('.files a:has-text("SVG")')]);
    expect(readFileSync(await svg.path(), 'utf8')).toMatch(/^<svg .*polyline/s);
    const [png] = await Promise.all([page.waitForEvent('download'), page.click('.files button:has-text("PNG")')]);
    const picture = PNG.sync.read(readFileSync(await png.path()));
    expect(picture.width).toBe(1800);
    expect(picture.data.some((value, i) => i % 4 === 0 && value < 60)).toBe(true);
  });

  it('sets runs side by side, and many across', async () => {
    await open('');
    await page.waitForSelector('.runs tbody tr');
    await page.locator('.tick label').nth(0).click();
    await page.locator('.tick label').nth(2).click();
    await page.click('button:has-text("side by side")');
    await page.waitForSelector('.side-by-side tbody tr');
    expect(await page.locator('.side-by-side thead th').count()).toBe(3);
    await open('#page=across&by=engineer&measure=passes');
    await page.waitForSelector('.box');
    expect(await page.locator('.across tbody tr').first().innerText()).toContain('A. Engineer');
  });

  it('asks a stranger to sign in, and lets an auditor do so', async () => {
    await open('#page=people');
    await page.waitForSelector('input[name=password]');
    await page.fill('input[name=name]', 'E. Auditor');
    await page.selectOption('select[name=role]', 'auditor');
    await page.fill('input[name=password]', 'correct horse');
    await page.click('button:has-text("Keep")');
    await page.waitForSelector('th:has-text("E. Auditor")');
    // As from another machine: the bridge is told that nobody is known yet.
    await page.route('**/api/office/me', async (route) => {
      const cookies = await page.context().cookies();
      if (cookies.some((c) => c.value.startsWith('s.'))) return await route.continue();
      return await route.fulfill({
        json: { name: null, role: null, by: '', onlyRun: null, hasPeople: true, hasRig: true },
      });
    });
    await open('');
    await page.fill('input[name=name]', 'E. Auditor');
    await page.fill('input[name=password]', 'wrong horse');
    await page.click('button:has-text("Sign in")');
    await expect.poll(() => page.locator('.sign-in .strip-bad').innerText()).toContain('do not go together');
    await page.fill('input[name=password]', 'correct horse');
    await page.click('button:has-text("Sign in")');
    await page.waitForSelector('.runs tbody tr');
    expect(await page.locator('.top-right').innerText()).toContain('E. Auditor, auditor');
    await page.unroute('**/api/office/me');
    expect(complaints).toEqual([]);
  });

  it.each(['light', 'dark'])(
    'breaks no rule of WCAG 2.2 A and AA that a program can check (axe-core), %s',
    async (theme) => {
      for (const hash of [
        '',
        `#run=${run}`,
        '#page=across',
        `#page=side-by-side&runs=${run},run-20260306-0003`,
        '#page=people',
      ]) {
        await open(hash);
        await page.waitForSelector('.runs tbody tr, .visits tbody tr, .box, .side-by-side tbody tr, .line-form');
        await page.evaluate(`document.documentElement.dataset.theme = '${theme}'`);
        for (const details of await page.locator('details').all())
          await details.evaluate((d) => d.setAttribute('open', ''));
        expect(await breaches(page)).toEqual([]);
      }
    },
  );

  it('stands on a tablet and a phone without anything beside the screen', async () => {
    for (const [width, height] of [
      [800, 1280],
      [412, 915],
    ] as const) {
      await page.setViewportSize({ width, height });
      for (const hash of ['', `#run=${run}`, '#page=across']) {
        await open(hash);
        await page.waitForSelector('.runs tbody tr, .visits tbody tr, .box');
        const over = await page.evaluate('document.documentElement.scrollWidth - document.documentElement.clientWidth');
        expect(over, `${hash} at ${width}`).toBeLessThanOrEqual(0);
      }
    }
  });
});
