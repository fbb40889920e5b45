// npx tsx bench/push.ts [seconds]: from a line of the wire, written to a pseudo-terminal at 10 Hz, to the newest pixel of
// the trace in a real browser that follows the running bridge. One JSON line. Needs chromium, socat and a built page.
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, openSync, rmSync, writeSync } from 'node:fs';
import { cpus, loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { encodeLine } from '../firmware-bridge/wire/encode.ts';
import { launch } from '../tests/browser/chromium.ts';

const seconds = Number(process.argv[2] ?? 60);
const warmUp = 30;
const folder = mkdtempSync(join(tmpdir(), 'limpid-push-'));
const [kitEnd, bridgeEnd] = [join(folder, 'kit'), join(folder, 'bridge')];

const socat = spawn('socat', ['-d', '-d', `pty,raw,echo=0,link=${kitEnd}`, `pty,raw,echo=0,link=${bridgeEnd}`]);
await new Promise<void>((resolve) => {
  createInterface(socat.stderr).on('line', (line) => line.includes('starting data transfer') && resolve());
});

/** Each line carries a turbidity that no other does, so that it is known again at the far end. */
const written = new Map<number, number>();
let seq = 0;
const kit = openSync(kitEnd, 'w');
const writing = setInterval(() => {
  const turbidityNtu = Math.round((20 + seq * 0.0005) * 1e4) / 1e4;
  const values = { turbidityNtu, flowLpm: 14, pressureBar: 1.05, returnC: 38, conductivityUsCm: 640 };
  const upS = Math.round(performance.now()) / 1000;
  const line = encodeLine({ kit: 'urn:dev:mac:0200000000beac02', boot: 1, seq, upS, values });
  written.set(turbidityNtu, Date.now());
  writeSync(kit, line);
  seq += 1;
}, 100);

const words = ['start', '--serial', bridgeEnd, '--data', join(folder, 'data'), '--port', '8499', '--json'];
const bridge = spawn(process.execPath, ['dist/limpid.js', ...words], { stdio: ['ignore', 'pipe', 'inherit'] });
await once(createInterface(bridge.stdout), 'line');

const browser = await launch();
const page = await browser.newPage({ viewport: { width: 1280, height: 800 } });
const seen = new Map<number, number>();
await page.exposeFunction('seenAt', (value: number, wallMs: number) => {
  if (!seen.has(value)) seen.set(value, wallMs);
});
await page.addInitScript(() => {
  addEventListener('drawn', (event) => {
    if (!(event instanceof CustomEvent) || event.detail.newest === null) return;
    // The canvas holds it now; it is on the screen when the frame under way ends.
    requestAnimationFrame(() => Reflect.get(window, 'seenAt')(event.detail.newest.value, Date.now()));
  });
});
await page.goto('http://127.0.0.1:8499');
await page.waitForSelector('.plot canvas');
await new Promise((done) => setTimeout(done, seconds * 1000 + warmUp * 100));

clearInterval(writing);
await browser.close();
bridge.kill('SIGINT');
await once(bridge, 'exit');
socat.kill();
rmSync(folder, { recursive: true, force: true });

const drawn = [...seen].slice(warmUp).map(([value, atMs]) => atMs - (written.get(value) ?? Number.NaN));
const firstSeen = [...seen.keys()][warmUp] ?? 0;
const sent = [...written.keys()].filter((value) => value >= firstSeen).length;
const sorted = drawn.filter((ms) => !Number.isNaN(ms)).sort((a, b) => a - b);
const at = (share: number) => sorted[Math.min(sorted.length - 1, Math.floor(sorted.length * share))] ?? null;
console.log(
  JSON.stringify({
    bench: 'push',
    what: 'line written to pseudo-terminal -> newest pixel of the trace, ms',
    rateHz: 10,
    lines: sent,
    // A row that came together with the next one is drawn with it, and counted there.
    drawnAlone: sorted.length,
    medianMs: at(0.5),
    p95Ms: at(0.95),
    p99Ms: at(0.99),
    maxMs: at(1),
    machine: { cpu: cpus()[0]?.model, cores: cpus().length, load: loadavg()[0] },
  }),
);
