import { mkdtempSync, rmSync } from 'node:fs';
import { networkInterfaces, tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type RunningServer, startServer } from '../../src/server/app.ts';
import { keepTls, type Tls } from '../../src/server/tls/keep.ts';
import { createFakeBridge } from '../src/server/fake-bridge.ts';
import { hasChromium, launchWith } from './chromium.ts';
import { code, webRoot } from './fake-page.ts';

const lan = Object.values(networkInterfaces())
  .flatMap((addresses) => addresses ?? [])
  .find((a) => a.family === 'IPv4' && !a.internal)?.address;

let folder = '';
let tls: Tls;
let server: RunningServer;
const browsers: Browser[] = [];

beforeAll(async () => {
  if (!hasChromium || lan === undefined) return;
  folder = mkdtempSync(join(tmpdir(), 'limpid-secure-'));
  tls = keepTls(folder, 'rig', ['localhost', '127.0.0.1', lan], Date.now());
  const bridge = createFakeBridge();
  bridge.play(30);
  server = await startServer({
    host: '0.0.0.0',
    port: 0,
    bridge,
    webRoot,
    pairing: { code },
    https: { ports: [0], tls },
  });
});
afterAll(async () => {
  if (!hasChromium || lan === undefined) return;
  await Promise.all(browsers.map((b) => b.close()));
  await server.close();
  rmSync(folder, { recursive: true, force: true });
});

async function open(url: string, args: readonly string[] = []): Promise<Page> {
  const browser = await launchWith(args);
  browsers.push(browser);
  const page = await (await browser.newContext({ viewport: { width: 1280, height: 800 } })).newPage();
  page.setDefaultTimeout(60_000);
  await page.goto(url);
  return page;
}

const rights = (page: Page) =>
  page.evaluate(() => ({
    secure: isSecureContext,
    worker: 'serviceWorker' in navigator,
    awake: 'wakeLock' in navigator,
  }));

const lineOf = async (page: Page): Promise<string> => {
  await page.getByRole('button', { name: 'Settings' }).click();
  return (await page.locator('p.setting').textContent()) ?? '';
};

const isReady = (page: Page) => page.evaluate(() => navigator.serviceWorker.ready.then((r) => r.active !== null));

describe.skipIf(!hasChromium || lan === undefined)('how a tablet reaches the bridge, and what it may do then', () => {
  it('by plain http: watches and works, and says in a line what is missing and where to get it', async () => {
    const page = await open(`http://${lan}:${server.port}/`);
    await page.waitForSelector('.band');
    expect(await rights(page)).toEqual({ secure: false, worker: false, awake: false });
    expect(await page.textContent('.strip')).toContain('screen may sleep');
    expect(await lineOf(page)).toMatch(
      /plain http.+screen may sleep.+cannot open while the bridge is away.+How to get the rest/,
    );
    await page.getByRole('link', { name: 'How to get the rest' }).click();
    await page.getByRole('link', { name: 'Fetch the certificate of its authority' }).waitFor();
    expect(await page.textContent('.print')).toBe(tls.fingerprint);
    expect(await page.textContent('main')).toContain(`https://${lan}:${server.httpsPort}/`);
    const got = await page.evaluate(async () => {
      const answer = await fetch('/limpid-authority.crt');
      return { type: answer.headers.get('content-type'), bytes: (await answer.arrayBuffer()).byteLength };
    });
    expect(got).toEqual({ type: 'application/x-x509-ca-cert', bytes: tls.authority.byteLength });
  });

  it("by https with the bridge's own certificate, once its authority is trusted: everything", async () => {
    // Trusting is the tablet's own dialogue: here the browser is told to believe this very key, and no other.
    const page = await open(`https://${lan}:${server.httpsPort}/`, [
      `--ignore-certificate-errors-spki-list=${await spki()}`,
    ]);
    await page.waitForSelector('.band');
    expect(await rights(page)).toEqual({ secure: true, worker: true, awake: true });
    expect(await isReady(page)).toBe(true);
    expect(await lineOf(page)).toMatch(/by https/);
    await page.keyboard.press('Escape');
    await page.waitForSelector('.pairing');
    await page.fill('#code', code);
    await page.click('.pairing button');
    await page.waitForSelector('.actions .action');
  });

  it('by the switch of the browser for this address: everything', async () => {
    const origin = `http://${lan}:${server.port}`;
    const page = await open(`${origin}/`, [`--unsafely-treat-insecure-origin-as-secure=${origin}`]);
    await page.waitForSelector('.band');
    expect(await rights(page)).toEqual({ secure: true, worker: true, awake: true });
    expect(await isReady(page)).toBe(true);
    expect(await lineOf(page)).toMatch(/trusts the address/);
  });

  it('as its own machine, as by a cable: everything', async () => {
    const page = await open(`http://localhost:${server.port}/`);
    await page.waitForSelector('.band');
    expect(await rights(page)).toEqual({ secure: true, worker: true, awake: true });
    expect(await isReady(page)).toBe(true);
  });
});

async function spki(): Promise<string> {
  const { createHash, X509Certificate } = await import('node:crypto');
  const key = new X509Certificate(tls.cert).publicKey.export({ type: 'spki', format: 'der' });
  return createHash('sha256').update(key).digest('base64');
}
