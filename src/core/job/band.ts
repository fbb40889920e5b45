import type { Verdict } from '../line/verdict.ts';
import { type Message, say } from '../message/message.ts';
import { stageOf } from './stages.ts';
import type { Job } from './state.ts';
import type { EmitterView, JobView, StagePage } from './view-schema.ts';

type Band = JobView['band'];

/** The next emitter that nobody worked on yet, in the order of the list. */
export function nextEmitter(emitters: readonly EmitterView[], open: string | null): EmitterView | null {
  return emitters.find((e) => e.status === 'to-come' && e.id !== open) ?? null;
}

/** Name for people; the id where the context has no name. */
export function nameOf(emitters: readonly EmitterView[], id: string): string {
  return emitters.find((e) => e.id === id)?.name ?? id;
}

/** The verdict band: words that are read at two metres, the one thing to do now, one sentence why. */
export function bandOf(
  job: Job,
  verdict: Verdict,
  emitters: readonly EmitterView[],
  page: StagePage | null = null,
): Band {
  if (job.paused) return pausedBand(job.paused.why);
  if (job.stage === 'rinse') return rinseBand(verdict);
  if (page) return stageBand(job, page);
  if (job.openEmitter === null) return idleBand(job, emitters);
  const reason = say({ code: verdict.reason.code, params: verdict.reason.figures });
  const name = nameOf(emitters, job.openEmitter);
  const next = nextEmitter(emitters, job.openEmitter);
  const band = (kind: Band['kind'], words: string, code: string, params: Message['params'] = {}): Band => ({
    words,
    emitter: name,
    doNow: say({ code: `job.${code}`, params: { emitter: name, ...params } }),
    reason,
    kind,
  });
  switch (verdict.state) {
    case 'idle':
      return band('idle', 'Watching the return', 'do-shake');
    case 'watching':
      return band('watching', 'Watching the return', job.passesS.length === 0 ? 'do-shake' : 'do-wait');
    case 'carrying':
      return band('carrying', 'Dirty water coming', 'do-wait-dirty');
    case 'settling':
      return band('settling', 'Falling', 'do-wait-dirty');
    case 'clear':
      if (job.passesS.length === 0) return band('clear', 'Clear: shake it', 'do-shake');
      if (!verdict.done) return band('clear', 'Clear: shake again', 'do-shake-again');
      return next
        ? band('done', 'Done: shut it', 'do-next', { next: next.name })
        : band('done', 'Done: shut it', 'do-shut-last');
    case 'cannot-tell':
      return band('cannot-tell', 'Cannot tell', 'do-look');
  }
}

function pausedBand(why: string): Band {
  return {
    words: 'The run rests',
    emitter: null,
    doNow: say({ code: 'job.do-resume', params: {} }),
    reason: say({ code: 'job.paused', params: { why } }),
    kind: 'idle',
  };
}

/** Stage and the one thing to do now: what its gate misses first, or to go on. */
function stageBand(job: Job, page: StagePage): Band {
  const stage = job.stage === null ? undefined : stageOf(job.stage);
  const [first] = page.missing;
  return {
    words: stage?.title ?? '',
    emitter: null,
    doNow: first ?? say({ code: 'job.do-next-stage', params: {} }),
    reason: page.remarks[0] ?? stage?.doNow ?? '',
    kind: first === undefined ? 'done' : 'idle',
  };
}

function idleBand(job: Job, emitters: readonly EmitterView[]): Band {
  const stage = job.stage === null ? undefined : stageOf(job.stage);
  const title = stage?.title ?? 'Not begun';
  const idle = (words: string, doNow: string, why: Message): Band => ({
    words,
    emitter: null,
    doNow,
    reason: say(why),
    kind: 'idle',
  });
  if (job.stage === 'emitters') {
    const next = nextEmitter(emitters, null);
    const doNow = next
      ? say({ code: 'job.do-open', params: { next: next.name } })
      : say({ code: 'job.do-go-on', params: {} });
    return idle(next ? 'Open an emitter' : 'Emitters worked on', doNow, { code: 'job.no-emitter-open', params: {} });
  }
  if (!stage) return idle('Not begun', 'Start with the survey', { code: 'job.not-begun', params: {} });
  return idle(title, stage.doNow, { code: 'job.stage-idle', params: { stage: title } });
}

function rinseBand(verdict: Verdict): Band {
  const reason = say({ code: verdict.reason.code, params: verdict.reason.figures });
  const at = (kind: Band['kind'], words: string, code: string): Band => ({
    words,
    emitter: null,
    doNow: say({ code: `job.${code}`, params: {} }),
    reason,
    kind,
  });
  if (verdict.state === 'clear') return at('done', 'At mains level', 'do-rinse-done');
  if (verdict.state === 'cannot-tell') return at('cannot-tell', 'Cannot tell', 'do-look');
  if (verdict.state === 'idle') return at('idle', 'Rinse cold', 'do-rinse');
  return at('settling', 'Rinsing', 'do-rinse');
}
