import { computed, effect, signal } from '@preact/signals';
import {
  type ButtonView,
  meSchema,
  pairedSchema,
  postedEventSchema,
  type RunView,
  refusalSchema,
} from '../../src/server/protocol.ts';
import { browserWorld, createLink, type Link, snapshotS } from '../shared/link.ts';
import { createQueue, newTapId, type Queue, type Sent, type Tap } from '../shared/queue.ts';
import { RunClock } from '../shared/run-clock.ts';
import { createSound, type Cue } from '../shared/sound.ts';
import { TraceBuffer } from '../shared/trace-buffer.ts';

/** What the page knows. Components read these signals; only this file writes them. */
export const view = signal<RunView | null>(null);
export const linkState = signal<'joining' | 'live' | 'lost' | 'misread'>('joining');
/** Grows with each row that comes; the charts redraw on it. */
export const rowsCame = signal(0);
/** Monotonic milliseconds, four times a second: every age on the page counts from it. */
export const clockMs = signal(performance.now());
export const me = signal<{ mayWrite: boolean; why: string } | null>(null);
export const waiting = signal<readonly Tap[]>([]);
export const told = signal<{ text: string; atMs: number } | null>(null);
export const soundReady = signal(false);

/** At 20 rows a second this is the whole snapshot; faster rehearsals show less of the past. */
export const buffer = new TraceBuffer(snapshotS * 20);
const runClock = new RunClock();
const tokenKey = 'limpid-token';
const tapsKey = 'limpid-taps';

let link: Link | null = null;
let queue: Queue | null = null;
const sound = createSound((ready) => {
  soundReady.value = ready;
});

function kept(key: string): string | null {
  try {
    return localStorage.getItem(key);
  } catch {
    return null;
  }
}

function keep(key: string, text: string): void {
  try {
    localStorage.setItem(key, text);
  } catch {
    // Private windows may keep nothing: then it lasts as long as the page.
  }
}

/** Run-clock seconds now, as far as this page can tell. */
export function runNowS(): number {
  return runClock.nowS(performance.now());
}

/** Real seconds since an instant of the run. */
export function ageOf(timeS: number): number {
  return runClock.ageS(timeS, performance.now());
}

/** The newest turbidity, and its age in real seconds. */
export const newest = computed(() => {
  void rowsCame.value;
  void clockMs.value;
  const last = buffer.lastOf('turbidityNtu');
  if (last === null) return null;
  return { ...last, ageS: ageOf(last.timeS) };
});

/** Real seconds since the bridge was last heard. */
export const silenceS = computed(() => {
  const nowMs = clockMs.value;
  const heard = link?.heardMs ?? null;
  return heard === null ? null : Math.max(0, (nowMs - heard) / 1000);
});

export function tell(text: string): void {
  told.value = { text, atMs: performance.now() };
}

async function ask(path: string, init: RequestInit = {}): Promise<Response> {
  const token = kept(tokenKey);
  const headers: Record<string, string> = { 'content-type': 'application/json' };
  if (token !== null) headers['authorization'] = `Bearer ${token}`;
  return fetch(path, { ...init, headers, cache: 'no-store', signal: AbortSignal.timeout(8000) });
}

async function readRights(): Promise<void> {
  try {
    me.value = meSchema.parse(await (await ask('/api/me')).json());
  } catch {
    // The link says that the bridge is away; rights are asked for again when it is back.
  }
}

async function refusalText(answer: Response): Promise<string> {
  const parsed = refusalSchema.safeParse(await answer.json().catch(() => null));
  return parsed.success ? parsed.data.text : `The bridge refused (${answer.status}).`;
}

async function send(tap: Tap, agoS: number): Promise<Sent> {
  const { id, event, emitter, note, data } = tap;
  try {
    const answer = await ask('/api/events', {
      method: 'POST',
      body: JSON.stringify({ id, event, emitter, note, ...(data ? { data } : {}), agoS: Math.round(agoS * 10) / 10 }),
    });
    if (answer.ok) return postedEventSchema.safeParse(await answer.json()).success ? 'done' : 'later';
    if (answer.status === 401) {
      await readRights();
      return 'unpaired';
    }
    if (answer.status >= 500) return 'later';
    return { refused: await refusalText(answer) };
  } catch {
    return 'later';
  }
}

/** The text of what went wrong, or null when this device is paired now. */
export async function pair(code: string): Promise<string | null> {
  try {
    const answer = await ask('/api/pair', { method: 'POST', body: JSON.stringify({ code: code.trim() }) });
    if (!answer.ok) return await refusalText(answer);
    const { token } = pairedSchema.parse(await answer.json());
    keep(tokenKey, token);
    await readRights();
    if (view.value) queue?.flush(view.value.runId);
    return null;
  } catch {
    return 'The bridge did not answer. Try again when the link is back.';
  }
}

/** Something to be done for which a reason is asked first; `null`: nothing is. */
export const asking = signal<{ button: ButtonView; reasons: readonly string[] } | null>(null);

export function press(button: ButtonView): void {
  if (view.value === null) return;
  if (button.why) asking.value = { button, reasons: view.value.reasons.way };
  else post(button);
}

/** What is told to the bridge; waits in the queue while the link is away. */
export function post(what: Pick<Tap, 'event' | 'label'> & Partial<Pick<Tap, 'emitter' | 'note' | 'data'>>): void {
  if (view.value === null) return;
  const { event, label, emitter = '', note = '', data } = what;
  queue?.tap({ runId: view.value.runId, event, emitter, note, label, ...(data ? { data } : {}) });
}

export function undo(id: string, label: string): void {
  if (view.value === null) return;
  queue?.tap({ runId: view.value.runId, event: 'undo', emitter: '', note: id, label: `Undo: ${label}` });
}

const cues: Partial<Record<RunView['band']['kind'], Cue>> = {
  clear: 'clear',
  done: 'done',
  'cannot-tell': 'cannot-tell',
};

function showView(next: RunView, live: boolean): void {
  const before = view.peek();
  view.value = next;
  const cue = cues[next.band.kind];
  if (live && before !== null && before.band.kind !== next.band.kind && cue !== undefined) sound.play(cue);
}

export function startModel(): void {
  queue = createQueue(
    {
      send,
      load: () => kept(tapsKey),
      save: (text) => keep(tapsKey, text),
      nowMs: Date.now,
      after: (ms, fn) => void setTimeout(fn, ms),
      newId: newTapId,
    },
    (taps) => {
      waiting.value = taps;
    },
    tell,
  );
  link = createLink(browserWorld, {
    snapshot(next, rows) {
      buffer.replace(rows);
      runClock.restart(Math.max(next.timeS, buffer.lastS ?? 0), performance.now());
      showView(next, false);
      rowsCame.value += 1;
      void readRights();
      queue?.flush(next.runId);
    },
    rows(rows) {
      buffer.append(rows);
      if (buffer.lastS !== null) runClock.row(buffer.lastS, performance.now());
      rowsCame.value += 1;
    },
    view: (next) => showView(next, true),
    beat: (message) => runClock.beat(message.timeS, message.speed, performance.now()),
    state(next) {
      linkState.value = next;
      if (next === 'live' && view.peek() !== null) queue?.flush(view.peek()?.runId ?? '');
    },
  });
  setInterval(() => {
    clockMs.value = performance.now();
  }, 250);
  const wake = () => {
    if (document.visibilityState === 'visible') link?.wake();
  };
  document.addEventListener('visibilitychange', wake);
  addEventListener('pageshow', wake);
  addEventListener('online', wake);
  document.addEventListener('pointerdown', () => sound.unlock(), { passive: true });
  document.addEventListener('keydown', () => sound.unlock());
  effect(() => {
    const shown = told.value;
    if (shown !== null && clockMs.value - shown.atMs > 12_000) told.value = null;
  });
}
