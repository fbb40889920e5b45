import { refuseShelve } from '../alarm/machine.ts';
import { alarmKinds, isAlarmKind } from '../alarm/rules.ts';
import type { Message } from '../message/message.ts';
import { knownEvents, type RunEvent } from './event.ts';
import { fold } from './fold.ts';
import { refuseMove } from './moves.ts';
import { isStageName } from './record.ts';
import { isBeforeEmitters, stageOf } from './stages.ts';
import { isCaution } from './stages/cautions.ts';
import { unitChoices } from '../quantity/units.ts';
import { samePress } from './same-press.ts';
import { refuseLimitTable, refuseSurvey, refuseTyped } from './stages/forms.ts';
import { type Entry, emitterOf, type JobState } from './state.ts';
import { lastAction, typedEvents, undoEvent } from './undo.ts';
import { correction } from './correct.ts';

/** What somebody asks for: a tap, the kit's button. */
export interface Asked {
  readonly event: string;
  readonly emitter: string;
  readonly note: string;
  readonly data?: RunEvent['data'] | undefined;
}

export interface Asking {
  readonly who: string;
  /** Run-clock seconds at which it will be committed. */
  readonly timeS: number;
  /** How long an action may be taken back, run-clock seconds. */
  readonly undoForS: number;
  /** What the stage under way still misses, in words; moving on all the same takes a reason. */
  readonly missing?: readonly string[];
}

export type Answer =
  | { readonly ok: true; readonly event: RunEvent }
  /** It is so already, by this event: two tablets pressed at once, and the second gets the state; told where it is not plain. */
  | { readonly ok: true; readonly already: string; readonly remark?: Message }
  | { readonly ok: false; readonly refusal: Message };

/**
 * May this be done now? The answer is the event to commit, completed (emitter of a pass, what an undo takes back), or a
 * refusal that says why and what to do. The order of stages is no cage: only what makes no sense is refused.
 */
export function request(state: JobState, asked: Asked, asking: Asking): Answer {
  const already = alreadySo(state, asked);
  if (already !== null) return { ok: true, already };
  const refusal = refuse(state, asked, asking);
  if (refusal) return { ok: false, refusal };
  if (asked.event === 'undo') return undo(state, asked, asking);
  if (asked.event === 'corrected') {
    const put = correction(state, asked.data ?? {}, asked.note, asking.timeS);
    return 'event' in put ? { ok: true, event: put.event } : { ok: false, refusal: put.refusal };
  }
  // What is told in another way is taken at its word: its teller knows how many passes there were.
  const isPressed = asking.who === 'kit' || asked.data?.['button'] === true;
  const same = asked.event === 'agitate-end' && isPressed ? samePress(state, asking.timeS, asked.data) : null;
  if (same) return { ok: true, ...same };
  const event: RunEvent = {
    timeS: asking.timeS,
    event: asked.event,
    emitter: asked.emitter === '' && needsOpen.has(asked.event) ? (state.job.openEmitter ?? '') : asked.emitter,
    note: asked.note,
    ...(asked.data === undefined ? {} : { data: asked.data }),
  };
  const more = completed(state, event, asking);
  return { ok: true, event: more ? { ...event, data: { ...event.data, ...more } } : event };
}

/** What only the bridge knows of it: who leads, and how much the stage that is left for a reason still lacks. */
function completed({ job }: JobState, { event, note }: RunEvent, asking: Asking): RunEvent['data'] {
  if (event === 'lead') return { who: asking.who };
  const isLeaving = event.startsWith('stage:') && isStageName(job.stage) && note.trim() !== '';
  return isLeaving && asking.missing ? { missing: asking.missing.length } : undefined;
}

/** Events that are about the emitter that is open. */
const needsOpen = new Set(['emitter-shut', 'agitate-start', 'agitate-end', 'pass-undone', 'override']);
/** What anybody may write who does not lead. */
const freeForAll = new Set(['lead', 'note', 'units', 'caution-read', 'alarm-silence']);
/** What only sets earlier entries right: also after the end, until the record is sealed. */
const changesTheLog = new Set(['undo', 'corrected']);
const machines = new Set(['kit', 'bridge']);

const no = (code: string, params: Message['params'] = {}): Message => ({ code: `job.${code}`, params });

/** Id of the event by which it is so already; null when it is not so. Only for states, never for deeds that add up. */
function alreadySo(state: JobState, { event, emitter, note, data }: Asked): string | null {
  const { job } = state;
  if (data?.['undoes'] !== undefined || !isSo(job, event, emitter, note, data)) return null;
  const names =
    event === 'check' ? (e: RunEvent) => e.note === note : (e: RunEvent) => event !== 'caution-read' || e.note === note;
  return state.log.findLast((e) => e.event.event === event && names(e.event) && !state.undone.has(e.id))?.id ?? null;
}

function isSo(job: JobState['job'], event: string, emitter: string, note: string, data: Asked['data']): boolean {
  switch (event) {
    case 'emitter-open':
      return emitter !== '' && job.openEmitter === emitter;
    case 'caution-read':
      return job.cautionsRead.includes(note);
    case 'check':
      return job.checks.includes(note) === (data?.['done'] !== false);
    case 'pause':
      return job.paused !== null;
    case 'hold-start':
      return job.hold !== null && job.hold.toS === null;
    case 'hold-end':
      return job.hold !== null && job.hold.toS !== null;
    default:
      return job.stage !== null && event === `stage:${job.stage}`;
  }
}

function refuse(state: JobState, asked: Asked, asking: Asking): Message | null {
  const { job } = state;
  const { who } = asking;
  if (job.lead !== null && job.lead !== who && !machines.has(who) && !freeForAll.has(asked.event))
    return no('not-leading', { lead: job.lead });
  if (asked.event.startsWith('stage:')) return refuseStage(state, asked, asking.missing ?? []);
  if (!isKnown(asked.event)) return no('unknown-event', { event: asked.event });
  if (job.stage === 'end' && !freeForAll.has(asked.event) && !changesTheLog.has(asked.event))
    return no('run-ended', { event: asked.event });
  if (asked.emitter !== '' && !emitterOf(job, asked.emitter))
    return no('unknown-emitter', { emitter: asked.emitter, known: job.emitters.map((e) => e.id).join(', ') || 'none' });
  if (needsOpen.has(asked.event)) return refuseWithoutOpen(state, asked);
  if (asked.event === 'emitter-open') return refuseOpen(state, asked.emitter);
  if (asked.event === 'skip') return refuseSkip(state, asked);
  return refuseNoted(state, asked);
}

/** What is typed, ticked, surveyed and acknowledged. */
function refuseNoted({ job }: JobState, asked: Asked): Message | null {
  if (asked.event === 'caution-read' && !isCaution(asked.note)) return no('caution-unknown', { caution: asked.note });
  if (asked.event === 'pause' && asked.note.trim() === '') return no('pause-why');
  if (asked.event.startsWith('alarm-')) return refuseAlarm(asked);
  if (asked.event === 'units') return refuseUnits(asked.data ?? {});
  return refuseTyped(asked.event, asked.data ?? {}) ?? refuseLimitTable(asked) ?? refuseSurvey(job.survey, asked);
}

/** Silence is for all of them; the others name one, and the shelf has an end. */
function refuseAlarm({ event, note, data }: Asked): Message | null {
  if (event === 'alarm-silence') return null;
  if (!isAlarmKind(note)) return no('alarm-unknown', { alarm: note, known: alarmKinds.join(', ') });
  if (event !== 'alarm-shelve') return null;
  const minutes = data?.['minutes'];
  return refuseShelve(note, typeof minutes === 'number' ? minutes : 0);
}

/** Every unit must be one of its kind; those not named stay as they are. */
function refuseUnits(data: NonNullable<RunEvent['data']>): Message | null {
  for (const [kind, unit] of Object.entries(data)) {
    const choices = Object.entries(unitChoices).find(([name]) => name === kind)?.[1];
    if (!choices) return no('units-kind', { kind, known: Object.keys(unitChoices).join(', ') });
    if (!choices.some((c) => c === unit))
      return no('units-unknown', { kind, unit: String(unit), known: choices.join(', ') });
  }
  return null;
}

function isKnown(event: string): boolean {
  return knownEvents.some((known) => known === event);
}

function refuseStage({ job }: JobState, asked: Asked, missing: readonly string[]): Message | null {
  const stage = stageOf(asked.event.slice('stage:'.length));
  return stage
    ? refuseMove(job, stage.name, asked.note, missing)
    : no('unknown-stage', { stage: asked.event.slice(6) });
}

function refuseWithoutOpen(state: JobState, asked: Asked): Message | null {
  const open = state.job.openEmitter;
  if (open === null) return no('none-open', { event: asked.event });
  if (asked.emitter !== '' && asked.emitter !== open) return no('other-open', { emitter: asked.emitter, open });
  if (asked.event === 'pass-undone' && state.job.passesS.length === 0) return no('no-pass', { emitter: open });
  return null;
}

function refuseOpen(state: JobState, emitter: string): Message | null {
  if (emitter === '') return no('which-emitter');
  if (isBeforeEmitters(state.job.stage)) return no('emitters-not-begun', { emitter });
  return state.job.openEmitter === emitter ? no('already-open', { emitter }) : null;
}

function refuseSkip(state: JobState, asked: Asked): Message | null {
  // Without an emitter it is the stage that is left out.
  const what = asked.emitter || state.job.stage || 'the stage';
  if (asked.emitter === state.job.openEmitter) return no('skip-open', { emitter: what });
  if (asked.note.trim() === '') return no('skip-why', { emitter: what });
  return emitterOf(state.job, asked.emitter)?.status === 'skipped'
    ? no('already-skipped', { emitter: asked.emitter })
    : null;
}

/** `data.undoes` (or the note) names the action; without either, the newest one is meant. */
function undo(state: JobState, asked: Asked, asking: Asking): Answer {
  const last = lastAction(state);
  const named = asked.data?.['undoes'] ?? (asked.note === '' ? last?.id : asked.note);
  const entry = state.log.find((e) => e.id === named);
  const refusal = refuseUndo(state, last, entry, asking);
  if (refusal || !entry) return { ok: false, refusal: refusal ?? no('undo-unknown') };
  return { ok: true, event: undoEvent(stateBefore(state, entry), entry, asking.timeS) };
}

function refuseUndo(state: JobState, last: Entry | null, entry: Entry | undefined, asking: Asking): Message | null {
  if (!last) return no('nothing-to-undo');
  if (!entry) return no('undo-unknown');
  if (state.undone.has(entry.id)) return no('undo-twice');
  // Nothing that was done since hangs on a figure that was typed.
  if (typedEvents.has(entry.event.event)) return null;
  if (entry.id !== last.id) return no('undo-not-last');
  return asking.timeS - last.event.timeS > asking.undoForS ? no('undo-too-late', { windowS: asking.undoForS }) : null;
}

function stateBefore(state: JobState, entry: Entry): JobState {
  const empty: JobState = { start: state.start, job: state.start, log: [], undone: new Set() };
  return state.log
    .slice(0, state.log.indexOf(entry))
    .filter((e) => !state.undone.has(e.id))
    .reduce(fold, empty);
}
