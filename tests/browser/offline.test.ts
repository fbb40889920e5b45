import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type RunningServer, startServer } from '../../src/server/app.ts';
import { createFakeBridge, type FakeBridge } from '../src/server/fake-bridge.ts';
import { hasChromium, launch } from './chromium.ts';
import { code, webRoot } from './fake-page.ts';
import { openWifi, type Wifi } from './wifi.ts';

let browser: Browser;
let context: BrowserContext;
let page: Page;
let bridge: FakeBridge;
let server: RunningServer;
let wifi: Wifi;
let stopWater = () => {};

const start = (port: number) => startServer({ host: '127.0.0.1', port, bridge, webRoot, pairing: { code } });
const flow = () => {
  const timer = setInterval(() => {
    bridge.play(0.1);
    bridge.beat();
  }, 100);
  stopWater = () => clearInterval(timer);
};
const press = async (name: RegExp) => {
  const button = page.locator('.action', { hasText: name }).first();
  const hold = (await button.locator('.hold-fill').count()) > 0;
  await button.click({ delay: hold ? 1700 : 60 });
};

/** Rows that the page has drawn from, and whether any stands twice or is missing. */
async function rows(): Promise<{ drawn: number; held: number }> {
  return page.evaluate(async () => {
    const detail = await new Promise<{ rows: number; oldestS: number; newest: { timeS: number } }>((resolve) => {
      addEventListener('drawn', (event) => event instanceof CustomEvent && resolve(event.detail), { once: true });
    });
    const query = `fromS=${detail.oldestS}&toS=${detail.newest.timeS}&points=100000`;
    const answer = await (await fetch(`/api/trace?${query}`)).json();
    return { drawn: detail.rows, held: answer.rows.length };
  });
}

const isBack = () => page.waitForSelector('header.strip');

beforeAll(async () => {
  if (!hasChromium) return;
  browser = await launch();
  bridge = createFakeBridge();
  bridge.play(30);
  await bridge.post({ id: 'open-emitter-3', event: 'emitter-open', emitter: 'e3', note: '', agoS: 0 }, 'loopback');
  server = await start(0);
  wifi = await openWifi(() => server.port);
  context = await browser.newContext({ viewport: { width: 1280, height: 800 } });
  page = await context.newPage();
  page.setDefaultTimeout(60_000);
  await page.goto(wifi.url);
  await page.waitForSelector('.plot canvas');
  flow();
});
afterAll(async () => {
  if (!hasChromium) return;
  stopWater();
  await browser.close();
  await wifi.close();
  await server.close();
});

describe.skipIf(!hasChromium)('the page while the bridge cannot be reached', () => {
  it('says so, greys what is old, and fills the gap when the Wi-Fi is back after seconds', async () => {
    wifi.cut();
    await page.waitForSelector('.strip.is-lost');
    await page.waitForSelector('.figure.is-old');
    await page.waitForTimeout(2000);
    wifi.mend();
    await isBack();
    await page.waitForTimeout(800);
    const { drawn, held } = await rows();
    expect(drawn).toBe(held);
  });

  it('keeps every tap in its order, shows what waits, and sends each once', async () => {
    const before = bridge.posted.length;
    wifi.cut();
    await page.waitForSelector('.strip.is-lost');
    await press(/^Pass done/);
    await page.waitForTimeout(400);
    await press(/^Pass done/);
    await page.waitForTimeout(400);
    await press(/^Shut Living/);
    expect(await page.textContent('.aside')).toMatch(/Pass done, Pass done, Shut Living/);
    expect(await page.locator('.action.is-waiting', { hasText: 'waiting to be sent (2)' }).count()).toBe(1);
    wifi.mend();
    await isBack();
    await page.waitForFunction(() => !document.querySelector('.aside')?.textContent?.includes('Waiting'));
    await page.waitForTimeout(1500);
    const sent = bridge.posted.slice(before).map(({ event }) => event);
    expect(sent.map((e) => e.event)).toEqual(['agitate-end', 'agitate-end', 'emitter-shut']);
    expect(new Set(sent.map((e) => e.id)).size).toBe(3);
    for (const event of sent) expect(event.agoS).toBeGreaterThan(0);
    expect(sent[0]?.agoS ?? 0).toBeGreaterThan(sent[2]?.agoS ?? 0);
  });

  it('is whole again after an hour, and fetches what lies further back when it is looked at', async () => {
    wifi.cut();
    await page.waitForSelector('.strip.is-lost');
    stopWater();
    bridge.play(3600);
    wifi.mend();
    flow();
    await isBack();
    await page.waitForTimeout(800);
    const recent = await rows();
    expect(recent.drawn).toBe(recent.held);
    const oldest = () =>
      page.evaluate(
        () =>
          new Promise<number>((resolve) => {
            addEventListener('drawn', (e) => e instanceof CustomEvent && resolve(e.detail.oldestS), { once: true });
          }),
      );
    const before = await oldest();
    await page.locator('.plot').click({ position: { x: 300, y: 80 } });
    for (let i = 0; i < 5; i += 1) await page.getByRole('button', { name: 'Wider' }).click();
    await page.waitForFunction(
      (was) =>
        new Promise<boolean>((resolve) => {
          addEventListener('drawn', (e) => resolve(e instanceof CustomEvent && e.detail.oldestS < was - 1000), {
            once: true,
          });
        }),
      before,
    );
    const all = await rows();
    expect(all.drawn).toBe(all.held);
    await page.click('.back-to-live');
  });

  it('is installable, and opens with the bridge away: as old as it is, and says so', async () => {
    await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
    const manifest = await page.evaluate(async () => (await fetch('/manifest.webmanifest')).json());
    expect(manifest).toMatchObject({ start_url: '/', display: 'standalone' });
    const kept = () =>
      page.evaluate(async () => (await (await caches.open('limpid-pages')).keys()).map((r) => new URL(r.url).pathname));
    await expect.poll(kept).toContain('/manifest.webmanifest');
    expect((await kept()).some((path) => path.startsWith('/api/'))).toBe(false);
    await page.waitForTimeout(3500);
    wifi.cut();
    await page.goto(wifi.url, { waitUntil: 'domcontentloaded' });
    await page.waitForSelector('.strip.is-lost');
    await page.waitForSelector('.band.is-old');
    expect(await page.textContent('.strip.is-lost')).toMatch(/does not answer.+\d+ min old.+what you press waits/);
    await page.waitForSelector('.figure.is-gone');
  });

  it('sends what was pressed there once the bridge is back', async () => {
    const before = bridge.posted.length;
    await press(/^Open /);
    await page.waitForSelector('.action.is-waiting');
    await page.reload({ waitUntil: 'domcontentloaded' });
    await page.waitForSelector('.band.is-old');
    expect(await page.textContent('.aside')).toMatch(/Waiting to be sent: Open /);
    wifi.mend();
    await isBack();
    await expect.poll(() => bridge.posted.slice(before).map(({ event }) => event.event)).toEqual(['emitter-open']);
  });

  it('comes back by itself after the bridge itself was started anew', async () => {
    const { port } = server;
    await server.close();
    await page.waitForSelector('.strip.is-lost');
    server = await start(port);
    await isBack();
    await page.waitForSelector('.band:not(.is-old)');
  });
});
