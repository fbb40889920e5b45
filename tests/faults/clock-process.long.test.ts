import { existsSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { exportRun, verifyRecording } from '../../src/recording/recording.ts';
import { runViewSchema, traceAnswerSchema } from '../../src/server/protocol.ts';
import { openStore } from '../../src/store/open.ts';
import { type BridgeProcess, startBridgeProcess } from '../browser/bridge-process.ts';

/** The library of the program `faketime`: it stands between a process and the wall clock. */
function library(): string | null {
  const of = (folder: string): string => join('/usr/lib', folder, 'faketime', 'libfaketimeMT.so.1');
  if (!existsSync('/usr/lib')) return null;
  return readdirSync('/usr/lib').map(of).find(existsSync) ?? null;
}
const lib = library();

const root = mkdtempSync(join(tmpdir(), 'limpid-clock-process-'));
afterAll(() => rmSync(root, { recursive: true, force: true }));

const pause = (ms: number): Promise<void> => new Promise((done) => setTimeout(done, ms));

/** The wall clock of the bridges that are started with `env`; what nobody sets goes on as it is. */
class FalseClock {
  readonly #file: string;

  constructor(name: string) {
    this.#file = join(root, `${name}.clock`);
    this.set(Date.now());
  }

  set(wallMs: number): void {
    const byS = Math.round((wallMs - Date.now()) / 1000);
    writeFileSync(this.#file, `${byS < 0 ? '' : '+'}${byS}\n`);
  }

  get env(): Record<string, string> {
    return {
      LD_PRELOAD: lib ?? '',
      FAKETIME_TIMESTAMP_FILE: this.#file,
      FAKETIME_NO_CACHE: '1',
      FAKETIME_DONT_FAKE_MONOTONIC: '1',
    };
  }
}

let taps = 0;
/** A tap, which must be taken, and the run's clock at it. */
async function tap(bridge: BridgeProcess, event: string, emitter = ''): Promise<number> {
  const answer = await fetch(`${bridge.url}/api/events`, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify({ id: `tap-by-the-clock-${++taps}`, event, emitter, note: 'a test' }),
  });
  expect([event, answer.status]).toEqual([event, 200]);
  return runViewSchema.parse(await (await fetch(`${bridge.url}/api/view`)).json()).timeS;
}

async function readingsOf(bridge: BridgeProcess): Promise<number[]> {
  const answer = await (await fetch(`${bridge.url}/api/trace?points=100000`)).json();
  return traceAnswerSchema.parse(answer).rows.flatMap((r) => (r[1] === null ? [] : [r[0]]));
}

const year = 365.25 * 86_400_000;
const moments: readonly (readonly [string, (nowMs: number) => number])[] = [
  ['five hours on', (now) => now + 5 * 3_600_000],
  ['three years back', (now) => now - 3 * year],
  ['1970', () => 600_000],
  ['2038', () => 2 ** 31 * 1000 - 1500],
  ['2099', () => Date.UTC(2099, 11, 31)],
  ['right again', (now) => now],
];

describe.skipIf(lib === null)(`the whole bridge by a false clock${lib === null ? ' (no faketime here)' : ''}`, () => {
  it('set in the midst of a run by hours and by years: the run goes on, second by second', async () => {
    const data = join(root, 'midst');
    const clock = new FalseClock('midst');
    const bridge = await startBridgeProcess({ data, speed: 10, env: clock.env });
    const times: number[] = [];
    try {
      await tap(bridge, 'stage:emitters');
      for (const [, at] of moments) {
        clock.set(at(Date.now()));
        await pause(400);
        times.push(await tap(bridge, 'emitter-open', 'hall'), await tap(bridge, 'emitter-shut', 'hall'));
      }
      const readings = await readingsOf(bridge);
      expect(readings.every((t, i) => i === 0 || t > (readings[i - 1] ?? t))).toBe(true);
      expect(readings.length).toBeGreaterThan(100);
      expect((await fetch(`${bridge.url}/ready`)).status).toBe(200);
    } finally {
      await bridge.stop('SIGINT');
    }
    expect(times).toEqual(times.toSorted((a, b) => a - b));
    // No leap of the wall clock came into the run's own.
    expect(Math.max(...times)).toBeLessThan(3600);
    const store = openStore(data);
    const run = store.openRun(store.currentRunId() ?? '');
    if (!run) throw new Error('the run is gone');
    const years = run.events().map((e) => new Date(e.wallAt).getUTCFullYear());
    expect(years).toEqual(expect.arrayContaining([1970, 2038, 2099]));
    exportRun(run, join(root, 'midst-out'));
    expect(verifyRecording(join(root, 'midst-out'))).toMatchObject({ sound: true, faults: [] });
    store.close();
  });

  it('wrong at the start and at every start after a power cut: one run, no tap and no order lost', async () => {
    const data = join(root, 'starts');
    const clock = new FalseClock('starts');
    let lastS = 0;
    const runs = new Set<string>();
    for (const [, at] of [moments[2], moments[4], moments[0], moments[1], moments[2]].filter((m) => m !== undefined)) {
      clock.set(at(Date.now()));
      const bridge = await startBridgeProcess({ data, speed: 10, env: clock.env });
      try {
        const view = runViewSchema.parse(await (await fetch(`${bridge.url}/api/view`)).json());
        runs.add(view.runId);
        expect(view.timeS).toBeGreaterThanOrEqual(lastS);
        await pause(500);
        lastS = await tap(bridge, 'note');
      } finally {
        await bridge.stop('SIGKILL');
      }
    }
    expect([...runs]).toEqual([expect.stringMatching(/^run-19700101-0010-/)]);
    const store = openStore(data);
    const run = store.openRun([...runs][0] ?? '');
    if (!run) throw new Error('the run is gone');
    const times = run
      .events()
      .filter((e) => e.event.event !== 'samples-kept')
      .map((e) => e.event.timeS);
    expect(times).toEqual(times.toSorted((a, b) => a - b));
    expect(run.events().filter((e) => e.event.event === 'note' && e.who === 'loopback')).toHaveLength(5);
    exportRun(run, join(root, 'starts-out'));
    expect(verifyRecording(join(root, 'starts-out'))).toMatchObject({ sound: true, faults: [] });
    store.close();
  });
});
