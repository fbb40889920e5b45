import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect } from 'vitest';
import { exportRun, verifyRecording } from '../../src/recording/recording.ts';
import { postedEventSchema, type RunView, runViewSchema, traceAnswerSchema } from '../../src/server/protocol.ts';
import { openStore } from '../../src/store/open.ts';
import { type BridgeProcess, startBridgeProcess } from '../browser/bridge-process.ts';

const speed = 10;
const pause = (ms: number): Promise<void> => new Promise((done) => setTimeout(done, ms));

interface Tap {
  readonly id: string;
  readonly event: string;
  readonly emitter: string;
}

/** What a page knows that posted to a bridge which may die at any moment. */
class Page {
  readonly acknowledged: Tap[] = [];
  /** Sent, but the bridge died before it answered: sent again, with the same id, to the next one. */
  unanswered: Tap | null = null;
  /** Newest reading that a page was ever shown, run-clock seconds, by bridge. */
  seenS = 0;
  private taps = 0;

  async view(bridge: BridgeProcess): Promise<RunView> {
    const view = runViewSchema.parse(await (await fetch(`${bridge.url}/api/view`)).json());
    this.seenS = Math.max(this.seenS, (await this.times(bridge)).at(-1) ?? 0);
    return view;
  }

  async times(bridge: BridgeProcess): Promise<number[]> {
    const answer = await (await fetch(`${bridge.url}/api/trace?points=100000`)).json();
    return traceAnswerSchema.parse(answer).rows.flatMap((r) => (r[1] === null ? [] : [r[0]]));
  }

  /** Next thing a working engineer would tell: on to the emitters, then passes and the next emitter, round and round. */
  async work(bridge: BridgeProcess): Promise<void> {
    const view = await this.view(bridge);
    const buttons = view.buttons.filter((b) => !['skip', 'stage:circulate'].includes(b.event));
    const button = buttons[this.taps % 4 === 3 ? buttons.length - 1 : 0];
    const again = view.emitters[this.taps % view.emitters.length];
    const { event, emitter } = button ?? { event: 'emitter-open', emitter: again?.id ?? '' };
    await this.send(bridge, { id: `page-tap-${++this.taps}`, event, emitter });
  }

  async send(bridge: BridgeProcess, tap: Tap): Promise<void> {
    this.unanswered = tap;
    const answer = await fetch(`${bridge.url}/api/events`, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify(tap),
    });
    const body: unknown = await answer.json();
    if (answer.status !== 200) throw new Error(`${tap.event} was refused: ${JSON.stringify(body)}`);
    postedEventSchema.parse(body);
    this.acknowledged.push(tap);
    this.unanswered = null;
  }
}

/** Where the job is; figures and verdicts may differ by the last second of samples. */
function place(view: RunView): unknown {
  const { runId, stage, openEmitter } = view;
  return {
    runId,
    stage,
    openEmitter,
    emitters: view.emitters.map(({ id, visits, passes }) => ({ id, visits, passes })),
  };
}

/**
 * Kill the whole bridge again and again, `afterMs` of work after each start, and look each time at what is left: the
 * job where it was, every acknowledged tap once, all samples but the last second, an intact chain.
 */
export async function killBridges(afterMs: readonly number[]): Promise<{ taps: number; samples: number }> {
  const root = mkdtempSync(join(tmpdir(), 'limpid-bridge-kill-'));
  const data = join(root, 'data');
  const page = new Page();
  let before: unknown = null;
  let keptS = 0;
  for (const ms of afterMs) {
    const bridge = await startBridgeProcess({ data, speed, program: 'dist/limpid.js' });
    try {
      const times = await page.times(bridge);
      if (before !== null) expect(place(await page.view(bridge))).toEqual(before);
      expect(times).toEqual([...new Set(times)].sort((a, b) => a - b));
      // Of what the last bridge had shown, all is there but what came in its last second.
      expect(times.filter((t) => t <= keptS).at(-1) ?? 0).toBeGreaterThanOrEqual(keptS - speed);
      before = await workUntilKilled(page, bridge, ms);
      keptS = page.seenS;
    } finally {
      await bridge.stop('SIGKILL');
    }
  }
  const store = openStore(data);
  const runId = store.currentRunId() ?? '';
  const run = store.openRun(runId);
  if (!run) throw new Error('the run is gone');
  const ids = run.events().map((e) => e.id);
  for (const { id } of page.acknowledged) expect(ids.filter((other) => other === id)).toEqual([id]);
  const samples = [...run.samples()].length;
  exportRun(run, join(root, 'out'));
  expect(verifyRecording(join(root, 'out'))).toMatchObject({ sound: true, faults: [] });
  store.close();
  rmSync(root, { recursive: true, force: true });
  return { taps: page.acknowledged.length, samples };
}

/** Works until the power is cut in the middle of it. Returns where the job was, when that is known for sure. */
async function workUntilKilled(page: Page, bridge: BridgeProcess, ms: number): Promise<unknown> {
  if (page.unanswered) await page.send(bridge, page.unanswered);
  let dead = false;
  const death = pause(ms).then(async () => {
    dead = true;
    await bridge.stop('SIGKILL');
  });
  let last: unknown = null;
  try {
    while (!dead) {
      last = null;
      await page.work(bridge);
      last = place(await page.view(bridge));
      await pause(20);
    }
  } catch (error) {
    // Only what a dead bridge causes is expected here.
    if (!dead) throw error;
  }
  await death;
  return last;
}
