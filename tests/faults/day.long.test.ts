import { mkdtempSync, readdirSync, readFileSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { runViewSchema, type RunView } from '../../src/server/protocol.ts';
import { startBridgeProcess, type BridgeProcess } from '../browser/bridge-process.ts';
import { medianOf, slopeOf } from './trend.ts';

const speed = 500;
const dayS = 24 * 3600;
/** A machine that cannot keep the speed takes longer, real seconds. */
const mostS = 800;

interface Look {
  /** Run-clock hours. */
  readonly hours: number;
  readonly residentMb: number;
  readonly handles: number;
  readonly answerMs: number;
  /** Age of the newest reading, real seconds. */
  readonly ageS: number;
  readonly diskMb: number;
  /** Thousands of readings kept, and of those that the kit numbered and that never came. */
  readonly readingsK: number;
  readonly missing: number;
}

const pause = (ms: number): Promise<void> => new Promise((done) => setTimeout(done, ms));

async function viewOf(bridge: BridgeProcess): Promise<RunView> {
  return runViewSchema.parse(await (await fetch(`${bridge.url}/api/view`)).json());
}

async function look(bridge: BridgeProcess, data: string): Promise<Look> {
  const from = performance.now();
  const view = await viewOf(bridge);
  const answerMs = performance.now() - from;
  const counted = await (await fetch(`${bridge.url}/metrics`)).text();
  const ofWire = (what: string): number =>
    Number(new RegExp(`limpid_wire_total\\{what="${what}"\\} (\\d+)`).exec(counted)?.[1] ?? Number.NaN);
  const status = readFileSync(`/proc/${bridge.pid}/status`, 'utf8');
  const bytes = readdirSync(data, { recursive: true, encoding: 'utf8' }).map((f) => statSync(join(data, f)).size);
  return {
    hours: view.timeS / 3600,
    residentMb: Number(/VmRSS:\s+(\d+)/.exec(status)?.[1] ?? Number.NaN) / 1024,
    handles: readdirSync(`/proc/${bridge.pid}/fd`).length,
    answerMs,
    ageS: view.links.find((l) => l.id === 'sensor')?.ageS ?? Number.NaN,
    diskMb: bytes.reduce((sum, n) => sum + n, 0) / 1e6,
    readingsK: ofWire('packs') / 1000,
    missing: ofWire('missing'),
  };
}

/** An engineer who goes on for a day: a tap every ten minutes or so of the run's clock, whatever the job offers next. */
async function tap(bridge: BridgeProcess, n: number): Promise<void> {
  const view = await viewOf(bridge);
  const ids = view.emitters.map((e) => e.id);
  const next = ids[Math.floor(n / 4) % ids.length] ?? '';
  const [event, emitter] =
    view.stage !== 'emitters'
      ? ['stage:emitters', '']
      : view.openEmitter === null || n % 4 === 0
        ? ['emitter-open', next]
        : ['agitate-end', ''];
  const answer = await fetch(`${bridge.url}/api/events`, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify({ id: `tap-of-the-day-${n}`, event, emitter }),
  });
  if (answer.status !== 200) throw new Error(`${event} was refused: ${await answer.text()}`);
}

/** A page that stays open all day and takes what comes. */
async function watch(bridge: BridgeProcess, until: AbortSignal): Promise<number> {
  let bytes = 0;
  try {
    const answer = await fetch(`${bridge.url}/api/live`, { signal: until });
    for await (const chunk of answer.body ?? []) bytes += chunk.length;
  } catch (error) {
    if (!until.aborted) throw error;
  }
  return bytes;
}

it.skipIf(process.platform !== 'linux')(
  `a day at ${speed} times the speed costs no more at its end than in its midst`,
  async () => {
    const data = mkdtempSync(join(tmpdir(), 'limpid-day-'));
    const bridge = await startBridgeProcess({ data, speed });
    const closing = new AbortController();
    const page = watch(bridge, closing.signal);
    const looks: Look[] = [];
    const from = performance.now();
    const passedS = (): number => (performance.now() - from) / 1000;
    try {
      for (let taps = 0; (looks.at(-1)?.hours ?? 0) < dayS / 3600 && passedS() < mostS; ) {
        await pause(900);
        looks.push(await look(bridge, data));
        await tap(bridge, taps++);
      }
    } finally {
      closing.abort();
      await bridge.stop('SIGINT');
      rmSync(data, { recursive: true, force: true });
    }
    const reached = ((looks.at(-1)?.hours ?? 0) * 3600) / passedS();
    const heard = await page;

    const parts = [0, 1, 2].map((i) => looks.slice((looks.length * i) / 3, (looks.length * (i + 1)) / 3));
    const [, midst = [], last = []] = parts;
    const of = (part: readonly Look[], key: keyof Look): number => medianOf(part.map((l) => l[key]));
    const figures = Object.fromEntries(
      (['residentMb', 'handles', 'answerMs', 'ageS'] as const).map((key) => [
        key,
        parts.map((part) => Number(of(part, key).toFixed(2))),
      ]),
    );
    const slope = (part: readonly Look[], by: keyof Look, key: keyof Look): number =>
      slopeOf(part.map((l) => [l[by], l[key]] as const));
    const gain = (part: readonly Look[], key: keyof Look): number =>
      Number(((part.at(-1)?.[key] ?? 0) - (part[0]?.[key] ?? 0)).toFixed(3));
    const growth = {
      residentMbPerHour: slope([...midst, ...last], 'hours', 'residentMb'),
      diskMb: parts.map((part) => gain(part, 'diskMb')),
      readingsK: parts.map((part) => gain(part, 'readingsK')),
    };
    const end = looks.at(-1);
    console.log(JSON.stringify({ reached: Math.round(reached), end, heardMb: heard / 1e6, figures, growth }));

    expect(end?.hours).toBeGreaterThanOrEqual(24);
    expect(end?.missing).toBe(0);
    // Ten a second are 864 thousand. At this speed they take a whole core (0.2 ms each, bridge and simulated rig together);
    // a machine with other work makes fewer, and none of them may be lost.
    expect(end?.readingsK).toBeGreaterThan(50);
    // Level to within what the allocator breathes: no more than one megabyte an hour.
    expect(of(last, 'residentMb') - of(midst, 'residentMb')).toBeLessThan(12);
    expect(growth.residentMbPerHour).toBeLessThan(1);
    expect(Math.abs(of(last, 'handles') - of(midst, 'handles'))).toBeLessThanOrEqual(2);
    expect(of(last, 'answerMs')).toBeLessThan(3 * of(midst, 'answerMs') + 50);
    expect(of(last, 'ageS')).toBeLessThan(3 * of(midst, 'ageS') + 1);
    // In proportion to the readings, but for the write-ahead log, which comes and goes by four megabytes.
    const [, diskMidst = 0, diskLast = 0] = growth.diskMb;
    const [, readMidst = 0, readLast = 0] = growth.readingsK;
    expect(Math.abs(diskLast - (diskMidst * readLast) / readMidst)).toBeLessThan(9);
    expect(1000 * (end?.diskMb ?? Number.NaN)).toBeLessThan(200 * (end?.readingsK ?? 0));
    expect(heard).toBeGreaterThan(1e6);
  },
);
