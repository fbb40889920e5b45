import type { RunEvent } from './event.ts';
import { limitOf } from '../chemistry/limits.ts';
import { limitsFromText } from '../chemistry/limits-csv.ts';
import { unitChoiceOf } from '../quantity/units.ts';
import { entered, entryKey, isStageName, photoOf, weighedOf } from './record.ts';
import { type StageId, stageOf } from './stages.ts';
import { type EmitterState, type Entry, emitterOf, type Job, type JobState, newEmitter } from './state.ts';
import { changedSurvey, surveyEvents } from './survey-rows.ts';
import { correctsOf, counted, takenBack, undoesOf } from './undo.ts';

/**
 * The run's state after one more event. Pure and total: any event in any order gives a state; what does not fit the
 * state (shutting what is not open) or is not known changes nothing but is kept in the log.
 *
 * An event that takes another back names it in `data.undoes`, one that puts its figures right in `data.corrects`. Then
 * the job is folded again by what counts; the event itself (`pass-undone`, `emitter-shut`, ...) is there for readers that
 * know nothing of undo.
 */
export function fold(state: JobState, entry: Entry): JobState {
  const log = [...state.log, entry];
  if (undoesOf(entry) === null && correctsOf(entry) === null)
    return { ...state, log, job: applyEvent(state.job, entry.event) };
  const job = counted(log).entries.reduce((now, { event }) => applyEvent(now, event), state.start);
  return { ...state, log, undone: takenBack(log), job };
}

function atStage(job: Job, name: StageId, event: RunEvent): Job {
  const hold = job.hold && job.hold.toS === null ? { ...job.hold, toS: event.timeS } : job.hold;
  return {
    ...rested(job, event.timeS),
    stage: name,
    stageSinceS: event.timeS,
    course: entered(job, name, event),
    hold,
  };
}

/** The run goes on. */
function rested(job: Job, timeS: number): Job {
  if (!job.paused) return job;
  const rest = { fromS: job.paused.sinceS, toS: timeS, why: job.paused.why };
  return { ...job, paused: null, rests: [...job.rests, rest] };
}

function applyEvent(job: Job, event: RunEvent): Job {
  if (event.event.startsWith('stage:')) {
    const stage = stageOf(event.event.slice('stage:'.length));
    return stage ? atStage(job, stage.name, event) : job;
  }
  switch (event.event) {
    case 'emitter-open':
      return opened(job, event);
    case 'emitter-shut':
      return event.emitter === job.openEmitter ? shut(job) : job;
    case 'agitate-start':
      return job.openEmitter === null ? job : { ...job, shakingS: event.timeS };
    case 'agitate-end':
      return passed(job, event);
    case 'pass-undone':
      return passUndone(job);
    case 'skip':
      return skipped(job, event);
    case 'rig-pump-on':
      return { ...job, pumpOn: true };
    case 'rig-pump-off':
      return { ...job, pumpOn: false };
    case 'flow-reverse':
    case 'flow-forward':
      return { ...job, isReversed: event.event === 'flow-reverse' };
    case 'chamber-emptied':
      return { ...job, chamberEmptiedS: event.timeS };
    case 'lead':
      return { ...job, lead: typeof event.data?.['who'] === 'string' ? event.data['who'] : null };
    case 'caution-read':
      return event.note === '' || job.cautionsRead.includes(event.note)
        ? job
        : { ...job, cautionsRead: [...job.cautionsRead, event.note] };
    default:
      return noted(job, event);
  }
}

/** What is typed, ticked and told beside the valves. */
function noted(job: Job, event: RunEvent): Job {
  if (surveyEvents.has(event.event)) return surveyed(job, event);
  const { timeS, note, data = {} } = event;
  switch (event.event) {
    case 'dose': {
      const litres = typeof data['litres'] === 'number' ? data['litres'] : null;
      return { ...job, doses: [...job.doses, { timeS, what: String(data['what'] ?? ''), litres }] };
    }
    case 'check':
      return { ...job, checks: [...job.checks.filter((c) => c !== note), ...(data['done'] === false ? [] : [note])] };
    case 'hold-start':
      return { ...job, hold: { fromS: timeS, toS: null } };
    case 'hold-end':
      return job.hold && job.hold.toS === null ? { ...job, hold: { ...job.hold, toS: timeS } } : job;
    case 'pause':
      return { ...rested(job, timeS), paused: { sinceS: timeS, why: note } };
    case 'resume':
      return rested(job, timeS);
    case 'hand-over':
      return { ...job, handedOver: { timeS, data } };
    case 'units':
      return { ...job, units: unitChoiceOf({ ...job.units, ...data }) };
    case 'limit': {
      const limit = limitOf(data);
      const kept = job.limitChanges.filter((l) => l.item !== limit?.item);
      return limit ? { ...job, limitChanges: [...kept, limit] } : job;
    }
    case 'limit-table': {
      const { set } = limitsFromText(String(data['csv'] ?? ''), note);
      return set ? { ...job, limitTable: set, limitChanges: [] } : job;
    }
    case 'photo':
      return { ...job, photos: [...job.photos, photoOf(event)] };
    case 'weighed': {
      const weighed = weighedOf(event);
      return weighed ? { ...job, weighed: [...job.weighed, weighed] } : job;
    }
    default: {
      const key = entryKey(event);
      return key === null ? job : { ...job, entries: { ...job.entries, [key]: { timeS, data } } };
    }
  }
}

/** The emitters follow the survey: new ones come in, those worked on stay, the order is the survey's. */
function surveyed(job: Job, event: RunEvent): Job {
  const { survey } = changedSurvey(job.survey, event);
  if (!survey) return job;
  const listed = survey.emitters.map((e) => emitterOf(job, e.id) ?? newEmitter(e.id));
  const worked = job.emitters.filter(
    (e) => (e.openings > 0 || e.status === 'open') && !listed.some((l) => l.id === e.id),
  );
  // Another order of work alone says nothing new of the system.
  const surveyTold = job.surveyTold || event.event !== 'survey-order';
  return { ...job, survey, surveyTold, emitters: [...listed, ...worked] };
}

function withEmitter(job: Job, id: string, change: (e: EmitterState) => EmitterState): Job {
  return { ...job, emitters: job.emitters.map((e) => (e.id === id ? change(e) : e)) };
}

/** One emitter at a time: opening the next shuts the last, whether or not the shutting was told. */
function opened(job: Job, event: RunEvent): Job {
  const id = event.emitter;
  if (id === '' || job.openEmitter === id) return job;
  const free = shut(job);
  const listed = emitterOf(free, id) ? free : { ...free, emitters: [...free.emitters, newEmitter(id)] };
  const now = withEmitter(listed, id, (e) => ({
    ...e,
    status: 'open',
    openings: e.openings + (isVisitStage(job) ? 1 : 0),
    openedAtS: event.timeS,
    skipReason: '',
  }));
  return { ...now, openEmitter: id, passesS: [], shakingS: null };
}

/** Without a single stage told, every opening is taken as a visit; else only those among the emitters. */
function isVisitStage(job: Job): boolean {
  return job.stage === null || job.stage === 'emitters';
}

function shut(job: Job): Job {
  if (job.openEmitter === null) return job;
  const now = withEmitter(job, job.openEmitter, (e) => ({ ...e, status: 'shut' }));
  return { ...now, openEmitter: null, passesS: [], shakingS: null };
}

function passed(job: Job, event: RunEvent): Job {
  const open = job.openEmitter;
  if (open === null || (event.emitter !== '' && event.emitter !== open)) return job;
  const now = withEmitter(job, open, (e) => ({ ...e, passes: e.passes + 1 }));
  const shake = { emitter: open, fromS: passFromS(job, event.timeS), toS: event.timeS };
  return { ...now, passesS: [...job.passesS, event.timeS], shaken: [...job.shaken, shake], shakingS: null };
}

/** A beginning that nobody told lies so long before the end, seconds. */
const untoldPassS = 30;

/** When the pass that ends now began: never before the opening or the pass before. */
function passFromS(job: Job, endS: number): number {
  const openedS = job.emitters.find((e) => e.id === job.openEmitter)?.openedAtS ?? 0;
  return Math.max(job.shakingS ?? endS - untoldPassS, openedS, job.passesS.at(-1) ?? 0);
}

function passUndone(job: Job): Job {
  const open = job.openEmitter;
  if (open === null || job.passesS.length === 0) return job;
  const now = withEmitter(job, open, (e) => ({ ...e, passes: e.passes - 1 }));
  return { ...now, passesS: job.passesS.slice(0, -1), shaken: job.shaken.slice(0, -1) };
}

function skipped(job: Job, event: RunEvent): Job {
  if (event.emitter === '') {
    if (!isStageName(job.stage)) return job;
    const now = { ...job.course[job.stage], status: 'skipped' as const, why: event.note };
    return { ...job, course: { ...job.course, [job.stage]: now } };
  }
  const free = event.emitter === job.openEmitter ? shut(job) : job;
  return withEmitter(free, event.emitter, (e) => ({ ...e, status: 'skipped', skipReason: event.note }));
}
