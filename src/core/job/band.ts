import type { Verdict } from '../line/verdict.ts';
import type { Message, Teller } from '../message/message.ts';
import { stageOf } from './stages.ts';
import type { Job } from './state.ts';
import type { EmitterView, JobView, StagePage } from './view-schema.ts';

type Band = JobView['band'];
type Say = Teller['say'];

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
  page: StagePage | null,
  isAlarmFirst: boolean,
  say: Say,
): Band {
  const band = workBand(job, verdict, emitters, page, say);
  return isAlarmFirst && band.kind !== 'cannot-tell' ? alarmFirst(band, say) : band;
}

/** Of the water the same is true as before, but what it asks for has to wait: nobody shakes an emitter under a pressure alarm. */
function alarmFirst(band: Band, say: Say): Band {
  const isAsking = band.emitter !== null && (band.kind === 'clear' || band.kind === 'done');
  return {
    ...band,
    words: isAsking ? say({ code: `band.${band.kind}-alone`, params: {} }) : band.words,
    doNow: say({ code: 'job.do-alarm-first', params: {} }),
  };
}

function workBand(
  job: Job,
  verdict: Verdict,
  emitters: readonly EmitterView[],
  page: StagePage | null,
  say: Say,
): Band {
  if (job.paused) return pausedBand(job.paused.why, say);
  if (job.stage === 'rinse') return rinseBand(verdict, say);
  if (page && page.name !== 'emitters') return stageBand(job, page, say);
  if (job.openEmitter === null) return idleBand(job, emitters, say);
  const reason = say({ code: verdict.reason.code, params: verdict.reason.figures });
  const name = nameOf(emitters, job.openEmitter);
  const next = nextEmitter(emitters, job.openEmitter);
  const band = (kind: Band['kind'], words: string, code: string, params: Message['params'] = {}): Band => ({
    words: say({ code: `band.${words}`, params: {} }),
    emitter: name,
    doNow: say({ code: `job.${code}`, params: { emitter: name, ...params } }),
    reason,
    kind,
  });
  switch (verdict.state) {
    case 'idle':
      return band('idle', 'watching', 'do-shake');
    case 'watching':
      return band('watching', 'watching', job.passesS.length === 0 ? 'do-shake' : 'do-wait');
    case 'carrying':
      return band('carrying', 'carrying', 'do-wait-dirty');
    case 'settling':
      return band('settling', 'settling', 'do-wait-dirty');
    case 'clear':
      if (job.passesS.length === 0) return band('clear', 'clear-shake', 'do-shake');
      if (!verdict.done) return band('clear', 'clear-again', 'do-shake-again');
      return next ? band('done', 'done', 'do-next', { next: next.name }) : band('done', 'done', 'do-shut-last');
    case 'cannot-tell':
      return band('cannot-tell', 'cannot-tell', untoldDo(verdict.reason.code));
  }
}

/** Blindness that nothing at the rig mends: it passes by itself. */
const passesByItself: ReadonlySet<string> = new Set(['over-range', 'folded', 'restarted']);

/** What to do where nothing can be told; the sentence why says the same. */
function untoldDo(reason: string): string {
  if (reason === 'other-kit') return 'do-shake';
  return passesByItself.has(reason) ? 'do-wait-sight' : 'do-look';
}

function pausedBand(why: string, say: Say): Band {
  return {
    words: say({ code: 'band.rests', params: {} }),
    emitter: null,
    doNow: say({ code: 'job.do-resume', params: {} }),
    reason: say({ code: 'job.paused', params: { why } }),
    kind: 'idle',
  };
}

/** Stage and the one thing to do now: what its gate misses first, or to go on. */
function stageBand(job: Job, page: StagePage, say: Say): Band {
  const stage = job.stage === null ? undefined : stageOf(job.stage);
  const [first] = page.missing;
  return {
    words: stage?.title ?? '',
    emitter: null,
    doNow: first ?? say({ code: job.handedOver ? 'job.do-seal' : 'job.do-next-stage', params: {} }),
    reason: page.remarks[0] ?? stage?.doNow ?? '',
    kind: first === undefined ? 'done' : 'idle',
  };
}

function idleBand(job: Job, emitters: readonly EmitterView[], say: Say): Band {
  const stage = job.stage === null ? undefined : stageOf(job.stage);
  const of = (code: string): string => say({ code: `band.${code}`, params: {} });
  const idle = (words: string, doNow: string, why: Message): Band => ({
    words,
    emitter: null,
    doNow,
    reason: say(why),
    kind: 'idle',
  });
  if (job.stage === 'emitters') {
    const next = nextEmitter(emitters, null);
    if (next) {
      const doNow = say({ code: 'job.do-open', params: { next: next.name } });
      return idle(of('open'), doNow, { code: 'job.no-emitter-open', params: {} });
    }
    const count = (status: EmitterView['status']): number => emitters.filter((e) => e.status === status).length;
    const params = { done: count('done'), left: count('left'), skipped: count('skipped') };
    const isAll = params.done === emitters.length;
    const doNow = say({ code: isAll ? 'job.do-go-on' : 'job.do-go-on-or-open', params: {} });
    return idle(say({ code: 'band.worked-on', params }), doNow, { code: 'job.none-to-open', params });
  }
  if (!stage) return idle(of('not-begun'), of('begin'), { code: 'job.not-begun', params: {} });
  return idle(stage.title, stage.doNow, { code: 'job.stage-idle', params: { stage: stage.title } });
}

function rinseBand(verdict: Verdict, say: Say): Band {
  const reason = say({ code: verdict.reason.code, params: verdict.reason.figures });
  const at = (kind: Band['kind'], words: string, code: string): Band => ({
    words: say({ code: `band.${words}`, params: {} }),
    emitter: null,
    doNow: say({ code: `job.${code}`, params: {} }),
    reason,
    kind,
  });
  if (verdict.state === 'clear') return at('done', 'at-mains', 'do-rinse-done');
  const isCoarse = verdict.reason.code === 'rinse-too-coarse';
  if (verdict.state === 'cannot-tell')
    return at('cannot-tell', 'cannot-tell', isCoarse ? 'do-sample' : untoldDo(verdict.reason.code));
  if (verdict.state === 'idle') return at('idle', 'rinse', 'do-rinse');
  return at('settling', 'rinsing', 'do-rinse');
}
