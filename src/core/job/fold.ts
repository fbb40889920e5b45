import type { RunEvent } from './event.ts';
import { stageOf } from './stages.ts';
import { type EmitterState, type Entry, emitterOf, type Job, type JobState, newEmitter } from './state.ts';
import { takenBack, targetOf, undoesOf } from './undo.ts';

/**
 * The run's state after one more event. Pure and total: any event in any order gives a state; what does not fit the
 * state (shutting what is not open) or is not known changes nothing but is kept in the log.
 *
 * An event that takes another back names it in `data.undoes`. Then the job is folded again without the one taken back;
 * the event itself (`pass-undone`, `emitter-shut`, ...) is there for readers that know nothing of undo.
 */
export function fold(state: JobState, entry: Entry): JobState {
  const log = [...state.log, entry];
  if (undoesOf(entry) === null) return { ...state, log, job: applyEvent(state.job, entry.event) };
  const undone = takenBack(log);
  let job = state.start;
  for (const [i, one] of log.entries()) {
    // One that names nothing that was there acts as what it says.
    if (!undone.has(one.id) && targetOf(log, i) === -1) job = applyEvent(job, one.event);
  }
  return { ...state, log, undone, job };
}

function applyEvent(job: Job, event: RunEvent): Job {
  if (event.event.startsWith('stage:')) {
    const stage = stageOf(event.event.slice('stage:'.length));
    return stage ? { ...job, stage: stage.name, stageSinceS: event.timeS } : job;
  }
  switch (event.event) {
    case 'emitter-open':
      return opened(job, event);
    case 'emitter-shut':
      return event.emitter === job.openEmitter ? shut(job) : job;
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
    case 'lead':
      return { ...job, lead: typeof event.data?.['who'] === 'string' ? event.data['who'] : null };
    case 'caution-read':
      return event.note === '' || job.cautionsRead.includes(event.note)
        ? job
        : { ...job, cautionsRead: [...job.cautionsRead, event.note] };
    default:
      return job;
  }
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
  return { ...now, openEmitter: id, passesS: [] };
}

/** Without a single stage told, every opening is taken as a visit; else only those among the emitters. */
function isVisitStage(job: Job): boolean {
  return job.stage === null || job.stage === 'emitters';
}

function shut(job: Job): Job {
  if (job.openEmitter === null) return job;
  const now = withEmitter(job, job.openEmitter, (e) => ({ ...e, status: 'shut' }));
  return { ...now, openEmitter: null, passesS: [] };
}

function passed(job: Job, event: RunEvent): Job {
  const open = job.openEmitter;
  if (open === null || (event.emitter !== '' && event.emitter !== open)) return job;
  const now = withEmitter(job, open, (e) => ({ ...e, passes: e.passes + 1 }));
  return { ...now, passesS: [...job.passesS, event.timeS] };
}

function passUndone(job: Job): Job {
  const open = job.openEmitter;
  if (open === null || job.passesS.length === 0) return job;
  const now = withEmitter(job, open, (e) => ({ ...e, passes: e.passes - 1 }));
  return { ...now, passesS: job.passesS.slice(0, -1) };
}

function skipped(job: Job, event: RunEvent): Job {
  const free = event.emitter === job.openEmitter ? shut(job) : job;
  return withEmitter(free, event.emitter, (e) => ({ ...e, status: 'skipped', skipReason: event.note }));
}
