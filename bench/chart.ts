// npx tsx bench/chart.ts: what the page beside the rig weighs, when it first paints with the processor slowed four times,
// and what a frame costs in a real browser beside a bare page of the chart library that draws the same: two hours of eight
// channels at 10 Hz, the large chart ten times a second, the four small ones twice. One JSON line. Needs chromium and a
// built page (npm run build).
import { readdirSync, readFileSync } from 'node:fs';
import { createServer } from 'node:http';
import { cpus, loadavg } from 'node:os';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import type { Browser, CDPSession, Page } from 'playwright-core';
import { startServer } from '../src/server/app.ts';
import { launch } from '../tests/browser/chromium.ts';
import { createFakeBridge, type FakeBridge } from '../tests/src/server/fake-bridge.ts';
import { barePage } from './chart-bare.ts';

const web = process.env['LIMPID_WEB'] ?? 'dist/web';
/** Two hours are what is asked for; five minutes are what usually stands on the page. */
const windowsS = [7200, 300] as const;
const ticks = 80;
const rounds = 3;

/** Everything that a first visit loads, in English: the page, what it names, and what that imports at once. */
function weigh(): { files: number; rawBytes: number; gzipBytes: number } {
  const all = readdirSync(join(web, 'assets'));
  const wanted = new Set(all.filter((name) => readFileSync(join(web, 'index.html'), 'utf8').includes(name)));
  for (const name of wanted) {
    if (!name.endsWith('.js')) continue;
    const text = readFileSync(join(web, 'assets', name), 'utf8');
    for (const [, found] of text.matchAll(/(?:from|import)\s*["'`]\.\/([\w-]+\.js)["'`]/g))
      if (found !== undefined) wanted.add(found);
  }
  const files = [join(web, 'index.html'), ...[...wanted].map((name) => join(web, 'assets', name))];
  const bytes = files.map((file) => readFileSync(file));
  const sum = (of: (b: Buffer) => number) => bytes.reduce((total, b) => total + of(b), 0);
  return {
    files: files.length,
    rawBytes: sum((b) => b.length),
    gzipBytes: sum((b) => gzipSync(b, { level: 9 }).length),
  };
}

const serve = (bridge: FakeBridge) =>
  startServer({ host: '127.0.0.1', port: 0, bridge, webRoot: web, pairing: { code: '0000' } });

async function firstPaint(browser: Browser): Promise<{ paintMs: number; verdictMs: number }> {
  const bridge = createFakeBridge();
  bridge.play(900);
  const server = await serve(bridge);
  const page = await browser.newPage({ viewport: { width: 1280, height: 800 } });
  const client = await page.context().newCDPSession(page);
  await client.send('Emulation.setCPUThrottlingRate', { rate: 4 });
  await page.addInitScript(() => {
    const seen = new MutationObserver(() => {
      if (document.querySelector('.band') === null) return;
      requestAnimationFrame(() => performance.mark('verdict'));
      seen.disconnect();
    });
    seen.observe(document, { childList: true, subtree: true });
  });
  await page.goto(server.url);
  await page.waitForFunction(() => performance.getEntriesByName('verdict').length > 0);
  const times = await page.evaluate(() => ({
    paintMs: Math.round(performance.getEntriesByName('first-contentful-paint')[0]?.startTime ?? Number.NaN),
    verdictMs: Math.round(performance.getEntriesByName('verdict')[0]?.startTime ?? Number.NaN),
  }));
  await page.close();
  await server.close();
  return times;
}

const median = (values: readonly number[]) =>
  values.toSorted((a, b) => a - b)[Math.floor(values.length / 2)] ?? Number.NaN;

/** Main-thread milliseconds of the page for each 100 ms, one tick after the other. */
async function frames(client: CDPSession, tick: () => Promise<void> | void): Promise<number[]> {
  const busyMs = async () => {
    const { metrics } = await client.send('Performance.getMetrics');
    return (metrics.find((m) => m.name === 'TaskDuration')?.value ?? 0) * 1000;
  };
  const costs: number[] = [];
  for (let i = 0; i < ticks; i += 1) {
    const before = await busyMs();
    await tick();
    await new Promise((done) => setTimeout(done, 100));
    costs.push((await busyMs()) - before);
  }
  return costs.slice(10);
}

async function rowsHeld(page: Page): Promise<number> {
  return page.evaluate(
    () =>
      new Promise<number>((resolve) => {
        addEventListener('drawn', (e) => e instanceof CustomEvent && resolve(e.detail.rows), { once: true });
      }),
  );
}

/** The page beside the rig, its chart stretched over two hours, or as it is when it is opened. */
async function openOurs(
  browser: Browser,
  bridge: FakeBridge,
  windowS: number,
): Promise<{ page: Page; close: () => Promise<void> }> {
  const server = await serve(bridge);
  const page = await browser.newPage({ viewport: { width: 1280, height: 800 } });
  await page.goto(server.url);
  await page.waitForSelector('.plot canvas');
  if (windowS > 300) {
    await page.locator('.plot').click({ position: { x: 300, y: 80 } });
    for (let i = 0; i < 9; i += 1) await page.getByRole('button', { name: 'Wider' }).click();
  }
  while ((await rowsHeld(page)) < windowS * 10 - 20) await page.waitForTimeout(200);
  return {
    page,
    async close() {
      await page.close();
      await server.close();
    },
  };
}

async function openBare(
  browser: Browser,
  windowS: number,
  box: { width: number; height: number },
): Promise<{ page: Page; close: () => Promise<void> }> {
  const server = createServer((request, response) => {
    const file = { '/uplot.js': 'uPlot.iife.min.js', '/uplot.css': 'uPlot.min.css' }[request.url ?? ''];
    response.setHeader(
      'content-type',
      request.url === '/' ? 'text/html' : request.url === '/uplot.css' ? 'text/css' : 'text/javascript',
    );
    response.end(file === undefined ? barePage(windowS, box) : readFileSync(join('node_modules/uplot/dist', file)));
  }).listen(0, '127.0.0.1');
  await new Promise((done) => server.once('listening', done));
  const address = server.address();
  const page = await browser.newPage({ viewport: { width: 1280, height: 800 } });
  await page.goto(`http://127.0.0.1:${typeof address === 'object' && address !== null ? address.port : 0}/`);
  await page.waitForFunction(() => document.querySelectorAll('canvas').length === 5);
  return {
    page,
    async close() {
      await page.close();
      server.close();
    },
  };
}

async function compare(
  browser: Browser,
  windowS: number,
): Promise<{ windowS: number; oursMs: number; bareMs: number; ratio: number; rounds: number[][] }> {
  const bridge = createFakeBridge();
  bridge.play(windowS);
  const ours = await openOurs(browser, bridge, windowS);
  const box = (await ours.page.locator('.plot').boundingBox()) ?? { width: 840, height: 250 };
  const bare = await openBare(browser, windowS, box);
  const clients: CDPSession[] = [];
  for (const { page } of [ours, bare]) {
    const client = await page.context().newCDPSession(page);
    await client.send('Performance.enable');
    clients.push(client);
  }
  const [ourClient, bareClient] = clients;
  if (ourClient === undefined || bareClient === undefined) throw new Error('no session');
  const results: number[][] = [];
  let n = 0;
  for (let round = 0; round < rounds; round += 1) {
    // As a run does: rows ten times a second, a view once a second, a beat.
    await ours.page.bringToFront();
    const our = await frames(ourClient, () => {
      bridge.row();
      n += 1;
      if (n % 10 === 0) {
        bridge.emit({ type: 'view', view: bridge.view() });
        bridge.beat();
      }
    });
    await bare.page.bringToFront();
    const plain = await frames(bareClient, () => bare.page.evaluate(() => void dispatchEvent(new Event('tick'))));
    results.push([median(our), median(plain)]);
  }
  await ours.close();
  await bare.close();
  const oursMs = median(results.map(([a]) => a ?? Number.NaN));
  const bareMs = median(results.map(([, b]) => b ?? Number.NaN));
  const tenth = (v: number) => Math.round(v * 10) / 10;
  return {
    windowS,
    oursMs: tenth(oursMs),
    bareMs: tenth(bareMs),
    ratio: Math.round((oursMs / bareMs) * 100) / 100,
    rounds: results.map((pair) => pair.map(tenth)),
  };
}

const browser = await launch();
const paints = [await firstPaint(browser), await firstPaint(browser), await firstPaint(browser)];
const compared = [await compare(browser, windowsS[0]), await compare(browser, windowsS[1])];
await browser.close();
console.log(
  JSON.stringify({
    bench: 'chart',
    page: weigh(),
    firstPaint: {
      what: 'first contentful paint and first verdict with the processor slowed 4 times, ms, median of 3',
      paintMs: median(paints.map((p) => p.paintMs)),
      verdictMs: median(paints.map((p) => p.verdictMs)),
    },
    frame: {
      what: 'main-thread time for each 100 ms: whole page beside the bare chart library, 8 channels at 10 Hz; the bar is for two hours',
      windows: compared,
    },
    bars: { gzipKb: 120, paintMs: 1000, ratio: 1.3 },
    machine: { cpu: cpus()[0]?.model, cores: cpus().length, load: loadavg()[0] },
  }),
);
