import { computed, effect, signal } from '@preact/signals';
import {
  type ButtonView,
  meSchema,
  pairedSchema,
  postedEventSchema,
  type RunView,
  refusalSchema,
  runViewSchema,
  traceAnswerSchema,
} from '../../src/server/protocol.ts';
import { keep, kept } from '../shared/keep.ts';
import { browserWorld, createLink, type Link, snapshotS } from '../shared/link.ts';
import { createQueue, newTapId, type Queue, type Sent, type Tap } from '../shared/queue.ts';
import { RunClock } from '../shared/run-clock.ts';
import { createSound, type Cue } from '../shared/sound.ts';
import { TraceBuffer } from '../shared/trace-buffer.ts';
import { areOurs, units, viewInUnits } from '../shared/units.ts';
import { language, t, told as toldText, toldView } from '../shared/words/language.ts';
import { createLastView } from './last-view.ts';

/** What the page knows. Components read these signals; only this file writes them. */
const heard = signal<RunView | null>(null);
/** The view in the language and the units chosen. */
export const view = computed(() => {
  const now = heard.value;
  if (now === null) return null;
  const said = language.value === 'en' ? now : toldView(now, now.said);
  if (said === now && areOurs(now.units)) return now;
  // Words must never cost the view itself: one that a translation broke is shown as it came.
  const told = runViewSchema.safeParse(viewInUnits(said));
  return told.success ? told.data : now;
});
/** When what is shown was heard, wall clock of this device, if that was before the page was opened; else null. */
export const keptSinceMs = signal<number | null>(null);
export const linkState = signal<'joining' | 'live' | 'lost' | 'misread'>('joining');
/** Grows with each row that comes; the charts redraw on it. */
export const rowsCame = signal(0);
/** Monotonic milliseconds, four times a second: every age on the page counts from it. */
export const clockMs = signal(performance.now());
export const me = signal<Me | null>(null);
export const waiting = signal<readonly Tap[]>([]);
export const told = signal<{ text: string; atMs: number; isRemark: boolean } | null>(null);
export const soundReady = signal(false);

/** Two hours at ten rows a second; faster rehearsals show less of the past. */
export const buffer = new TraceBuffer(72_000);
type Me = ReturnType<typeof meSchema.parse>;
const runClock = new RunClock();
const lastView = createLastView();
const tokenKey = 'limpid-token';
const tapsKey = 'limpid-taps';

let link: Link | null = null;
let queue: Queue | null = null;
const sound = createSound((ready) => {
  soundReady.value = ready;
});

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

/** A refusal, or what else must not be missed. */
export function tell(text: string): void {
  told.value = { text, atMs: performance.now(), isRemark: false };
}

/** What was taken, and needs a word: it soon gives the undo its place back. */
function remarkOn(text: string): void {
  told.value = { text, atMs: performance.now(), isRemark: true };
}

/** What is asked of the bridge beside taps, as this device. Throws when no answer comes. */
export async function ask(
  path: string,
  init: { method?: string; body?: BodyInit; headers?: Record<string, string>; signal?: AbortSignal } = {},
): Promise<Response> {
  const token = kept(tokenKey);
  const headers: Record<string, string> = { 'content-type': 'application/json', ...init.headers };
  if (token !== null) headers['authorization'] = `Bearer ${token}`;
  return fetch(path, { ...init, headers, cache: 'no-store', signal: init.signal ?? AbortSignal.timeout(8000) });
}

async function readRights(): Promise<void> {
  try {
    me.value = meSchema.parse(await (await ask('/api/me')).json());
  } catch {
    // The link says that the bridge is away; rights are asked for again when it is back.
  }
}

export async function refusalText(answer: Response): Promise<string> {
  const parsed = refusalSchema.safeParse(await answer.json().catch(() => null));
  if (!parsed.success) return t('The bridge refused ({status}).', { status: answer.status });
  const { code, text, params = {} } = parsed.data;
  // What the stage still misses stands within a refusal as the page shows it.
  return toldText(text, { ...heard.peek()?.said, [text]: { code, params } });
}

async function send(tap: Tap, agoS: number): Promise<Sent> {
  const { id, event, emitter, note, data } = tap;
  try {
    const answer = await ask('/api/events', {
      method: 'POST',
      body: JSON.stringify({ id, event, emitter, note, ...(data ? { data } : {}), agoS: Math.round(agoS * 10) / 10 }),
    });
    if (answer.ok) {
      const posted = postedEventSchema.safeParse(await answer.json());
      if (!posted.success) return 'later';
      const { remark } = posted.data;
      if (remark) remarkOn(toldText(remark.text, { [remark.text]: remark }));
      // What was tapped after a refusal was read, and is taken, answers it: its place is the undo's again.
      else if (told.value !== null && told.value.atMs < performance.now() - agoS * 1000) told.value = null;
      return 'done';
    }
    if (answer.status === 401) {
      await readRights();
      return 'unpaired';
    }
    // Told to wait: it is no word on the tap itself.
    if (answer.status >= 500 || answer.status === 429) return 'later';
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
    return t('The bridge did not answer. Try again when the link is back.');
  }
}

/** Who leads the run: while nobody does, every paired device may write. */
export const leader = computed<'nobody' | 'me' | 'other'>(() => {
  const lead = view.value?.lead ?? null;
  if (lead === null || me.value === null) return 'nobody';
  return lead === me.value.who ? 'me' : 'other';
});

/** Whether what is told from here is taken: not on a device that is not paired, nor while another one leads. */
export const mayWork = computed(() => me.value?.mayWrite !== false && leader.value !== 'other');

let fetching = false;

/** What the chart shows of the past and this page does not hold is fetched from the record, a piece at a time. */
export async function fetchBefore(fromS: number): Promise<void> {
  const { firstS } = buffer;
  if (fetching || firstS === null || firstS <= 0 || fromS >= firstS || buffer.isFull) return;
  fetching = true;
  try {
    const query = `fromS=${Math.max(0, Math.floor(firstS - snapshotS))}&toS=${firstS}&points=40000`;
    const { rows } = traceAnswerSchema.parse(await (await ask(`/api/trace?${query}`)).json());
    // Nothing older in the record: then this is where it begins.
    if (rows.length < 2) buffer.closeBefore();
    buffer.prepend(rows);
    rowsCame.value += 1;
  } catch {
    // The bridge is away; it is asked for again when the chart is drawn next.
  } finally {
    setTimeout(() => (fetching = false), 500);
  }
}

/** Something to be done for which a reason is asked first; `null`: nothing is. */
export const asking = signal<{ button: ButtonView; reasons: readonly string[] } | null>(null);

export function press(button: ButtonView): void {
  if (view.value === null) return;
  if (button.why) asking.value = { button, reasons: view.value.reasons.way };
  else post(button.event === 'agitate-end' ? { ...button, data: { button: true } } : button);
}

/** What is told to the bridge; waits in the queue while the link is away. */
export function post(what: Pick<Tap, 'event' | 'label'> & Partial<Pick<Tap, 'emitter' | 'note' | 'data'>>): void {
  if (view.value === null) return;
  const { event, label, emitter = '', note = '', data } = what;
  queue?.tap({ runId: view.value.runId, event, emitter, note, label, ...(data ? { data } : {}) });
}

export function undo(id: string, label: string): void {
  if (view.value === null) return;
  const what = t('Undo: {what}', { what: label });
  queue?.tap({ runId: view.value.runId, event: 'undo', emitter: '', note: id, label: what });
}

const cues: Partial<Record<RunView['band']['kind'], Cue>> = {
  clear: 'clear',
  done: 'done',
  'cannot-tell': 'cannot-tell',
};

/** The cue of this event, now: to hear whether it is loud enough. */
export function tryCue(cue: Cue): void {
  sound.unlock();
  sound.play(cue);
}

const isByKit = (v: RunView): boolean => v.undo !== null && v.said[v.undo.label]?.code === 'undo.pass-kit';

function showView(next: RunView, live: boolean): void {
  const before = heard.peek();
  units.value = next.units;
  heard.value = next;
  keptSinceMs.value = null;
  lastView.keep(next);
  if (live && isByKit(next) && before?.undo?.id !== next.undo?.id) sound.play('heard');
  const cue = cues[next.band.kind];
  if (live && before !== null && before.band.kind !== next.band.kind && cue !== undefined) sound.play(cue);
  if (live && before !== null && next.alarms.heard > before.alarms.heard) callAlarm();
}

/** A new alarm calls again so often until it was seen, silenced, put aside, or is gone. */
const callAgainMs = 10_000;
let calledMs = Number.NEGATIVE_INFINITY;

function callAlarm(): void {
  calledMs = performance.now();
  sound.play('alarm');
}

/** What is old calls nobody: without the link the alarm may be long gone. */
function callAgain(): void {
  const isCalling = linkState.peek() === 'live' && heard.peek()?.alarms.isCalling === true;
  if (isCalling && performance.now() - calledMs >= callAgainMs) callAlarm();
}

/** The bridge cannot be reached and this page was just opened: what it showed last, as old as it is. */
function showLast(): void {
  const last = lastView.load();
  if (last === null) return;
  runClock.restart(last.view.timeS + (Date.now() - last.heardMs) / 1000, performance.now());
  keptSinceMs.value = last.heardMs;
  units.value = last.view.units;
  heard.value = last.view;
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
    // At the opening of the page only: after a loss the old stands, greyed, until all is there.
    soon: (next) => void (heard.peek() === null && showView(next, false)),
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
      if (next === 'lost' && heard.peek() === null) showLast();
      if (next === 'live' && view.peek() !== null) queue?.flush(view.peek()?.runId ?? '');
    },
  });
  setInterval(() => {
    clockMs.value = performance.now();
    callAgain();
  }, 250);
  const wake = () => {
    if (document.visibilityState === 'visible') link?.wake();
  };
  document.addEventListener('visibilitychange', wake);
  addEventListener('pageshow', wake);
  addEventListener('online', wake);
  addEventListener('pagehide', () => lastView.flush());
  document.addEventListener('pointerdown', () => sound.unlock(), { passive: true });
  document.addEventListener('keydown', () => sound.unlock());
  effect(() => {
    const shown = told.value;
    if (shown !== null && clockMs.value - shown.atMs > (shown.isRemark ? 4000 : 12_000)) told.value = null;
  });
}
