import type { Visit } from '../line/verdict.ts';
import type { Teller } from '../message/message.ts';
import { type StageName, stageNames } from './event.ts';
import { isStageName } from './record.ts';
import { runLeft, stageMinutes } from './run-left.ts';
import type { Job } from './state.ts';
import type { JobView } from './view-schema.ts';
import type { RunForecast } from './whole-run-forecast.ts';

/**
 * When the whole run will be done: the emitters by the visits so far, the stages still to come by what they usually
 * take, the one under way less the time already spent in it. A rest counts neither as work nor as a visit. Null before
 * the first stage and after the end.
 */
export function whenDone(job: Job, visits: readonly Visit[], timeS: number): RunForecast | null {
  if (!isStageName(job.stage)) return null;
  const at = stageNames.indexOf(job.stage);
  const toCome = stageNames.filter((s, i) => i > at && job.course[s].status !== 'skipped');
  const isWorked = at > stageNames.indexOf('emitters');
  const workedS = (t: number): number => t - restedS(job, t);
  const shifted = visits.map((v) => ({
    ...v,
    fromS: workedS(v.fromS),
    toS: v.toS === null ? null : workedS(v.toS),
  }));
  const wanted = isWorked ? [] : job.emitters.filter((e) => e.status !== 'skipped').map((e) => e.id);
  const now = restOf(job, job.stage, timeS);
  const minutes = now ? { ...stageMinutes, [job.stage]: now } : stageMinutes;
  return runLeft(isWorked ? [] : shifted, wanted, [job.stage, ...toCome], workedS(timeS), minutes);
}

/** Seconds of rest before `t`, the present one included. */
function restedS(job: Job, t: number): number {
  const rests = [...job.rests, ...(job.paused ? [{ fromS: job.paused.sinceS, toS: Infinity }] : [])];
  return rests.reduce((sum, r) => sum + Math.max(0, Math.min(t, r.toS) - r.fromS), 0);
}

/** Of the stage under way only what is left; once it has lasted longer than usual, a little more of it is expected. */
function restOf(job: Job, stage: StageName, timeS: number): (typeof stageMinutes)[StageName] {
  const span = stageMinutes[stage];
  const sinceS = job.course[stage].sinceS;
  if (!span || sinceS === null) return span;
  const spent = (timeS - sinceS - (restedS(job, timeS) - restedS(job, sinceS))) / 60;
  const least = Math.max(0, span.least - spent);
  const usual = Math.max(least, span.usual - spent, 0.1 * span.usual);
  return { least, usual, most: Math.max(usual, span.most - spent, 0.2 * span.most) };
}

/** In words: how long, from when to when, and what it rests on. */
export function forecastView(forecast: RunForecast | null, say: Teller['say']): JobView['forecast'] {
  if (!forecast) return null;
  const { minutes, fromMin, toMin, basis } = forecast;
  const [about, from, to] = [minutes, fromMin, toMin].map(hours);
  const params = { about: about ?? '', from: from ?? '', to: to ?? '' };
  return {
    minutes,
    fromMin,
    toMin,
    basis,
    text: say({ code: `job.when-done-${basis}`, params }),
    short: say({
      code: basis === 'first-guess' ? 'job.left-guess' : 'job.left',
      params: { about: brief(minutes), from: brief(fromMin), to: brief(toMin) },
    }),
  };
}

/** Rounded to what such a forecast can be good for: five minutes, from two hours on ten. */
const hours = (minutes: number): string => durationText(minutes, minutes >= 120 ? 10 : minutes >= 10 ? 5 : 1);

/** For a narrow line: five minutes, from one hour on half hours, from four on whole ones. */
const brief = (minutes: number): string =>
  durationText(minutes, minutes >= 240 ? 60 : minutes >= 60 ? 30 : minutes >= 10 ? 5 : 1);

function durationText(minutes: number, step: number): string {
  const whole = Math.max(1, Math.round(minutes / step) * step);
  const h = Math.floor(whole / 60);
  const rest = whole % 60;
  if (h === 0) return `${rest} min`;
  return rest === 0 ? `${h} h` : `${h} h ${rest} min`;
}
