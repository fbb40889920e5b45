// npx tsx bench/chart.ts: what the page weighs, and what one redraw of the trace costs in a real browser, by length of the
// span. One JSON line. Needs chromium and a built page (npm run build).
import { readdirSync, readFileSync } from 'node:fs';
import { cpus, loadavg } from 'node:os';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { startServer } from '../src/server/app.ts';
import { launch } from '../tests/browser/chromium.ts';
import { createFakeBridge } from '../tests/src/server/fake-bridge.ts';

const web = 'dist/web';

/** Everything that a first visit loads: the page and what it names, as gzip would send it. */
function weigh(): { rawBytes: number; gzipBytes: number } {
  const html = readFileSync(join(web, 'index.html'), 'utf8');
  const named = readdirSync(join(web, 'assets')).filter((name) => html.includes(name));
  const all = [Buffer.from(html), ...named.map((name) => readFileSync(join(web, 'assets', name)))];
  const sum = (of: (bytes: Buffer) => number) => all.reduce((total, bytes) => total + of(bytes), 0);
  return { rawBytes: sum((b) => b.length), gzipBytes: sum((b) => gzipSync(b, { level: 9 }).length) };
}

async function redraws(minutes: number): Promise<{ minutes: number; medianMs: number; p95Ms: number }> {
  const bridge = createFakeBridge();
  bridge.play(minutes * 60);
  const server = await startServer({ host: '127.0.0.1', port: 0, bridge, webRoot: web, pairing: { code: '0000' } });
  const browser = await launch();
  const page = await browser.newPage({ viewport: { width: 1280, height: 800 } });
  await page.goto(server.url);
  await page.waitForSelector('.plot canvas');
  if (minutes > 5) await page.click('.plot-tools .tool');
  const client = await page.context().newCDPSession(page);
  await client.send('Performance.enable');
  const scriptMs = async () => {
    const { metrics } = await client.send('Performance.getMetrics');
    return (metrics.find((m) => m.name === 'TaskDuration')?.value ?? 0) * 1000;
  };
  const costs: number[] = [];
  for (let i = 0; i < 60; i += 1) {
    const before = await scriptMs();
    bridge.play(0.1);
    await new Promise((done) => setTimeout(done, 100));
    costs.push((await scriptMs()) - before);
  }
  await browser.close();
  await server.close();
  costs.splice(0, 10);
  costs.sort((a, b) => a - b);
  const at = (share: number) => Math.round((costs[Math.floor(costs.length * share)] ?? 0) * 10) / 10;
  return { minutes, medianMs: at(0.5), p95Ms: at(0.95) };
}

const page = weigh();
console.log(
  JSON.stringify({
    bench: 'chart',
    page,
    what: 'main-thread time of the whole page for each 100 ms at 10 Hz, ms',
    redraws: [await redraws(4), await redraws(14)],
    machine: { cpu: cpus()[0]?.model, cores: cpus().length, load: loadavg()[0] },
  }),
);
