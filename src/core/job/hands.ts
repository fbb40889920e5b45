import type { Job, Shake } from './state.ts';
import { actionPoints, limitPoints, type VibrationDay, triggerLeftS, vibrationDay } from './vibration.ts';

/** Vibration of the day as far as this run knows it. */
export interface HandsToday {
  /** The tool's figure, m/s2; null until it was typed. */
  readonly aMS2: number | null;
  readonly passes: number;
  readonly triggerS: number;
  /** Points from other work of the day, as typed. */
  readonly earlierPoints: number;
  /** Null until the tool's figure was typed. */
  readonly day: VibrationDay | null;
  /** Seconds on this tool until the action value, and until the limit value; null where the tool does not count. */
  readonly toActionS: number | null;
  readonly toLimitS: number | null;
}

const overNight = 'Over night';

/**
 * Passes are the time of a hand on the tool. The day began when the points of earlier work were last typed, or after a
 * rest over night, whichever is later; without either it is the whole run.
 */
export function handsToday(job: Job): HandsToday {
  const aMS2 = figure(job, 'vibration-m-s2');
  const earlier = job.entries['typed vibration-earlier'];
  const night = job.rests.findLast((r) => r.why === overNight)?.toS ?? 0;
  const fromS = Math.max(earlier?.timeS ?? 0, night);
  const today = job.shaken.filter((s) => s.toS > fromS);
  const triggerS = today.reduce((sum, s) => sum + lengthS(s), 0);
  const earlierPoints = earlier && earlier.timeS >= night ? (figure(job, 'vibration-earlier') ?? 0) : 0;
  const own = aMS2 === null ? null : vibrationDay([{ aMS2, triggerS }, asUse(earlierPoints)]);
  const day = own?.ok ? own.value : null;
  return {
    aMS2,
    passes: today.length,
    triggerS,
    earlierPoints,
    day,
    toActionS: day && aMS2 !== null ? triggerLeftS(day.points, aMS2, actionPoints) : null,
    toLimitS: day && aMS2 !== null ? triggerLeftS(day.points, aMS2, limitPoints) : null,
  };
}

function lengthS(shake: Shake): number {
  return Math.max(0, shake.toS - shake.fromS);
}

/** Points of earlier work as an hour on a tool that gives so many. */
function asUse(points: number): { readonly aMS2: number; readonly triggerS: number } {
  return { aMS2: Math.sqrt(points / 2), triggerS: points > 0 ? 3600 : 0 };
}

function figure(job: Job, what: string): number | null {
  const value = job.entries[`typed ${what}`]?.data['value'];
  return typeof value === 'number' && Number.isFinite(value) ? value : null;
}
