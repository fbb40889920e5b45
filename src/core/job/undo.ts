import type { RunEvent } from './event.ts';
import type { Entry, JobState } from './state.ts';

/** How long an action can be taken back in place, seconds of the engineer's own time; what was typed, at any time. */
export const undoWindowS = 10;

/** Id of the event that this one takes back, or null. */
export function undoesOf(entry: Entry): string | null {
  const id = entry.event.data?.['undoes'];
  return typeof id === 'string' && id !== entry.id ? id : null;
}

/** Index of the entry that the i-th takes back; -1 when it takes none back. Only what came before can be taken back. */
export function targetOf(log: readonly Entry[], i: number): number {
  const entry = log[i];
  const id = entry ? undoesOf(entry) : null;
  if (id === null) return -1;
  for (let j = 0; j < i; j++) if (log[j]?.id === id) return j;
  return -1;
}

/**
 * Ids of the entries that no longer count. Read from the newest back: an entry that was taken back takes nothing back
 * itself, so undoing an undo brings the first one to life again.
 */
export function takenBack(log: readonly Entry[]): ReadonlySet<string> {
  const undone = new Set<string>();
  for (let i = log.length - 1; i >= 0; i--) {
    const entry = log[i];
    if (!entry || undone.has(entry.id)) continue;
    const target = log[targetOf(log, i)];
    if (target) undone.add(target.id);
  }
  return undone;
}

/** Events that carry figures or words that were typed: they can be put right, or taken back, until the run is sealed. */
export const typedEvents: ReadonlySet<string> = new Set(['dose', 'weighed', 'typed', 'sample', 'label', 'limit']);

/** Id of the entry whose figures this one puts right, or null. */
export function correctsOf({ event }: Entry): string | null {
  const id = event.event === 'corrected' ? event.data?.['corrects'] : undefined;
  return typeof id === 'string' ? id : null;
}

type Figures = NonNullable<RunEvent['data']>;

/** Figures that were typed and no longer count, with the entry that says so. */
export interface Struck<E> {
  /** As it stood until then. */
  readonly wrong: E;
  readonly by: E;
  /** `null`: taken back, with nothing in its place. */
  readonly right: Figures | null;
}

/**
 * What counts of a log, in its order: nothing that was taken back, and what was put right with its right figures, in
 * the place and at the time of the wrong ones; and beside it what was typed and was struck.
 */
export function counted<E extends Entry>(
  log: readonly E[],
): {
  readonly entries: readonly E[];
  readonly struck: readonly Struck<E>[];
} {
  const undone = takenBack(log);
  const entries: E[] = [];
  const struck: Struck<E>[] = [];
  const placeOf = new Map<string, number>();
  for (const [i, entry] of log.entries()) {
    if (undone.has(entry.id)) continue;
    const place = placeOf.get(correctsOf(entry) ?? '');
    const wrong = place === undefined ? undefined : entries[place];
    if (place !== undefined && wrong && typedEvents.has(wrong.event.event)) {
      const right = figuresOf(entry);
      struck.push({ wrong, by: entry, right });
      entries[place] = { ...wrong, event: { ...wrong.event, data: right } };
      continue;
    }
    const gone = log[targetOf(log, i)];
    if (gone && typedEvents.has(gone.event.event)) struck.push({ wrong: gone, by: entry, right: null });
    // One that names nothing that was there acts as what it says.
    if (!gone) placeOf.set(entry.id, entries.push(entry) - 1);
  }
  return { entries, struck };
}

function figuresOf({ event: { data } }: Entry): Figures {
  const { corrects: _, of: __, ...figures } = data ?? {};
  return figures;
}

/** What is done at the valves: it can be taken back for a while, with what was typed. */
const undoable = new Set([
  ...['emitter-open', 'emitter-shut', 'agitate-end', 'skip', 'override', 'corrected'],
  ...typedEvents,
]);

/** The newest action that still counts and that can be taken back, however long ago; null when there is none. */
export function lastAction(state: JobState): Entry | null {
  for (let i = state.log.length - 1; i >= 0; i--) {
    const entry = state.log[i];
    if (!entry || state.undone.has(entry.id)) continue;
    // What the bridge itself told (the baseline of a rehearsal) is nobody's action.
    if (entry.who === 'bridge' || undoesOf(entry) !== null) continue;
    const name = entry.event.event;
    if (undoable.has(name) || name.startsWith('stage:')) return entry;
  }
  return null;
}

/**
 * The event that takes `entry` back. Its name says what is so again, for readers that know nothing of undo (a pass
 * undone, the emitter shut again, the stage before); `data.undoes` says exactly what was taken back.
 */
export function undoEvent(before: JobState, entry: Entry, timeS: number): RunEvent {
  const { event, emitter } = entry.event;
  const make = (name: string, id: string): RunEvent => ({
    timeS,
    event: name,
    emitter: id,
    note: '',
    data: { undoes: entry.id, of: event },
  });
  if (event === 'agitate-end') return make('pass-undone', emitter);
  const open = before.job.openEmitter;
  if (event === 'emitter-open') return open === null ? make('emitter-shut', emitter) : make('emitter-open', open);
  if (event === 'emitter-shut' && open !== null) return make('emitter-open', open);
  if (event === 'skip' && open === emitter) return make('emitter-open', emitter);
  if (event.startsWith('stage:') && before.job.stage !== null) return make(`stage:${before.job.stage}`, '');
  return make('undo', emitter);
}
