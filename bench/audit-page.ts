// npx tsx bench/audit-page.ts: what the office's page costs. Prints one JSON line: the list over 10,000 runs (time of each
// question on the server), a run of eight hours at 10 Hz on all channels (time until its chart stands, frames while it is
// dragged), and beside it a bare page of the chart library alone with as many charts and points, in the same browser.
// Needs chromium and a built page (npm run build). LIMPID_WEB names another folder of built pages.
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { createServer } from 'node:http';
import { tmpdir } from 'node:os';
import { cpus, loadavg } from 'node:os';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { Random } from '../simulators/random.ts';
import { sortKeys } from '../src/store/run-index.ts';
import { launch } from '../tests/browser/chromium.ts';
import { keepLong, longContext, longHours } from '../tests/browser/long-run.ts';
import { officeWorld, type OfficeWorld } from '../tests/browser/office-world.ts';

const runs = 10_000;
const at = (sorted: readonly number[], share: number): number =>
  Math.round(10 * (sorted[Math.min(sorted.length - 1, Math.floor(sorted.length * share))] ?? 0)) / 10;
function spread(times: number[]): { p50: number; p95: number; max: number } {
  const sorted = times.toSorted((a, b) => a - b);
  return { p50: at(sorted, 0.5), p95: at(sorted, 0.95), max: at(sorted, 1) };
}

/** Runs in the list as looked at, without readings. Invented names. */
function fillList(world: OfficeWorld): void {
  const random = new Random('list');
  const one = (names: readonly string[]): string => names[Math.floor(random.uniform() * names.length)] ?? '';
  for (let i = 0; i < runs; i++) {
    const startedAt = new Date(Date.UTC(2020, 0, 1) + i * 5.4 * 3_600_000).toISOString();
    const runId = `run-${String(i).padStart(6, '0')}`;
    const site = `${1 + (i % 240)} ${one(['Example Row', 'Sample Lane', 'Test Court', 'Mill Street'])}, ${one(['Sampleton', 'Exampleby'])}`;
    world.store.createRun({ runId, title: site, simulated: false, startedAt, context: longContext });
    const engineer = `${one(['A.', 'B.', 'C.', 'D.'])} ${one(['Engineer', 'Fitter', 'Heating'])}`;
    const findings = Array.from({ length: Math.floor(random.uniform() * 6) }, (_, n) => ({
      key: `f${n}`,
      rank: 1 + (n % 3),
    }));
    const rig = `urn:dev:mac:02000000000000${String(10 + (i % 12))}`;
    const found = {
      startedAt,
      site,
      engineer,
      client: '',
      rig,
      durationS: 9000,
      findings,
      rules: 'rules that ship, v1',
      figures: '{}',
      page: '{}',
    };
    world.store.index.lookedAt(runId, found, new Set(findings.map((f) => f.key)));
  }
}

async function listTimes(url: string) {
  const ask = async (query: string): Promise<{ p50: number; p95: number; max: number }> => {
    const times: number[] = [];
    for (let i = 0; i < 12; i++) {
      const began = performance.now();
      await (await fetch(`${url}/api/runs?${query}`)).text();
      if (i > 1) times.push(performance.now() - began);
    }
    return spread(times);
  };
  const sorts: Record<string, unknown> = {};
  for (const key of sortKeys) sorts[key] = await ask(`sort=${key}`);
  return {
    sorts,
    'search of one word': await ask('search=exampleby'),
    'search of two words': await ask('search=mill+fitter&sort=open'),
    'page 190': await ask('from=9500'),
    'open findings, unsigned': await ask('open=1&seal=unsigned'),
  };
}

/** Interval of frames while `drag` moves the chart, ms. */
async function frames(page: Page, drag: () => Promise<void>): Promise<number[]> {
  // As text: what the loader adds to a function is not known in the page.
  await page.evaluate(`(() => {
    const times = []; let last = performance.now();
    delete document.body.dataset.stop; delete document.body.dataset.frames;
    requestAnimationFrame(function step(now) {
      times.push(now - last); last = now;
      if (document.body.dataset.stop) document.body.dataset.frames = JSON.stringify(times);
      else requestAnimationFrame(step);
    });
  })()`);
  await drag();
  await page.evaluate(() => {
    document.body.dataset['stop'] = '1';
  });
  await page.waitForFunction(() => document.body.dataset['frames'] !== undefined);
  const text = await page.evaluate(() => document.body.dataset['frames'] ?? '[]');
  return (JSON.parse(text) as number[]).slice(2);
}

const perSecond = (intervals: readonly number[]): number =>
  Math.round((10_000 * intervals.length) / intervals.reduce((a, b) => a + b, 0)) / 10;

async function opening(browser: Browser, url: string): Promise<{ ms: number[]; withFindingsMs: number[] }> {
  const ms: number[] = [];
  const withFindingsMs: number[] = [];
  for (let i = 0; i < 6; i++) {
    const page = await browser.newPage({ viewport: { width: 1440, height: 900 } });
    const began = performance.now();
    await page.goto(`${url}/audit.html#run=long`);
    await page.waitForSelector('.lanes[data-drawn]');
    ms.push(performance.now() - began);
    await page.waitForSelector('.finding, .visits');
    withFindingsMs.push(performance.now() - began);
    await page.close();
  }
  return { ms: ms.slice(1), withFindingsMs: withFindingsMs.slice(1) };
}

/** A drag of four seconds to and fro, as quick as the browser takes it. */
async function dragIt(page: Page): Promise<void> {
  const began = performance.now();
  const y = 400;
  await page.mouse.move(700, y);
  await page.mouse.down();
  for (let i = 0; performance.now() - began < 4000; i++) await page.mouse.move(700 + 350 * Math.sin(i / 25), y);
  await page.mouse.up();
}

async function panning(browser: Browser, url: string) {
  const page = await browser.newPage({ viewport: { width: 1440, height: 900 } });
  await page.goto(`${url}/audit.html#run=long&from=9000&to=12600`);
  await page.waitForSelector('.lanes[data-drawn]');
  await page.waitForTimeout(1200);
  const charts = await page.locator('.lanes canvas').count();
  const intervals = await frames(page, () => dragIt(page));
  await page.close();
  return { charts, framesPerSecond: perSecond(intervals), frameMs: spread(intervals) };
}

/** The library alone: as many charts, as many points, moved by one setScale a frame. */
async function bare(browser: Browser, charts: number) {
  const library = readFileSync('node_modules/uplot/dist/uPlot.iife.min.js', 'utf8');
  const html = `<!doctype html><body><script>${library}</script><script>
    const n = 3 * 2 * 1000, x = Float64Array.from({ length: n }, (_, i) => 9000 + i * 10800 / n);
    const all = Array.from({ length: ${charts} }, (_, c) => {
      const y = Float64Array.from({ length: n }, (_, i) => 50 + 20 * Math.sin(i / 90 + c) + 4 * Math.sin(i * 12.9898));
      return new uPlot({ width: 960, height: c === 0 ? 214 : 72, legend: { show: false }, cursor: { show: false },
        scales: { x: { time: false }, y: { auto: false, range: [0, 100] } }, series: [{}, { stroke: '#000', width: 1, points: { show: false } }] },
        [x, y], document.body);
    });
    window.began = performance.now(); let i = 0;
    function step() { const from = 12600 + 1800 * Math.sin(i++ / 25);
      for (const u of all) u.setScale('x', { min: from, max: from + 3600 }); if (performance.now() - began < 4000) requestAnimationFrame(step); }
    requestAnimationFrame(step);
  </script>`;
  const server = createServer((_request, response) => response.setHeader('content-type', 'text/html').end(html)).listen(
    0,
    '127.0.0.1',
  );
  await new Promise((done) => server.once('listening', done));
  const address = server.address();
  const page = await browser.newPage({ viewport: { width: 1440, height: 900 } });
  const began = performance.now();
  await page.goto(`http://127.0.0.1:${typeof address === 'object' && address ? address.port : 0}/`);
  await page.waitForFunction('window.began !== undefined');
  const openMs = Math.round(10 * (performance.now() - began)) / 10;
  const intervals = await frames(page, () => page.waitForTimeout(3600));
  await page.close();
  server.close();
  return { charts, openMs, framesPerSecond: perSecond(intervals), frameMs: spread(intervals) };
}

const data = mkdtempSync(join(tmpdir(), 'limpid-office-bench-'));
const world = await officeWorld({ data, runs: 0 });
try {
  keepLong(world.store);
  const looking = performance.now();
  await world.audit.lookAtAll();
  const lookMs = Math.round(performance.now() - looking);
  const browser = await launch();
  const open = await opening(browser, world.server.url);
  const pan = await panning(browser, world.server.url);
  const beside = await bare(browser, pan.charts);
  await browser.close();
  fillList(world);
  const list = await listTimes(world.server.url);
  const trace: number[] = [];
  for (let i = 0; i < 12; i++) {
    const began = performance.now();
    await (await fetch(`${world.server.url}/api/runs/long/trace?fromS=0&toS=28800&buckets=1000`)).text();
    trace.push(performance.now() - began);
  }
  console.log(
    JSON.stringify({
      bench: 'audit-page',
      list: { runs, ms: list },
      run: {
        hours: longHours,
        hz: 10,
        channels: 7,
        lookedAtMs: lookMs,
        wholeTraceMs: spread(trace.slice(2)),
        openMs: spread(open.ms),
        openWithFindingsMs: spread(open.withFindingsMs),
        pan,
        barePage: beside,
        ofBare: Math.round((100 * pan.framesPerSecond) / beside.framesPerSecond) / 100,
      },
      machine: { cpu: cpus()[0]?.model, cores: cpus().length, load: loadavg()[0] },
    }),
  );
} finally {
  await world.stop();
  rmSync(data, { recursive: true, force: true });
}
