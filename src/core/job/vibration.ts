import { given, type Outcome, outOfRange } from '../quantity/refusal.ts';

/**
 * Hand-arm vibration of the day. Exposure A(8) = sqrt(sum a^2 T / 8 h), action value 2.5 and limit value 5 m/s2 A(8):
 * Control of Vibration at Work Regulations 2005, read on legislation.gov.uk. In the points of the HSE ready reckoner
 * (pages read): 2 a^2 an hour, points add, action 100, limit 400. Trigger time counts, not the time of the job. A
 * declared emission is often lower than what the hand feels, so all of it is an estimate.
 */
export const actionPoints = 100;
export const limitPoints = 400;

export interface ToolUse {
  /** Frequency-weighted acceleration of the tool, m/s2, as typed from its sheet. */
  readonly aMS2: number;
  /** Time of the hand on the running tool, s. */
  readonly triggerS: number;
}

export interface VibrationDay {
  readonly points: number;
  readonly a8MS2: number;
  /** Points of each use, in the order given. */
  readonly parts: readonly number[];
  readonly stand: 'under-action' | 'over-action' | 'over-limit';
}

export function vibrationPoints(use: ToolUse): number {
  return (2 * use.aMS2 * use.aMS2 * use.triggerS) / 3600;
}

/** Running total of the day over all tools and uses. Refuses accelerations over 100 m/s2 and days over 24 h. */
export function vibrationDay(uses: readonly ToolUse[]): Outcome<VibrationDay> {
  let hours = 0;
  for (const use of uses) {
    hours += use.triggerS / 3600;
    const refusal =
      outOfRange('vibration of the tool', use.aMS2, 0, 100, 'm/s²') ??
      outOfRange('trigger time', use.triggerS, 0, 86400, 's');
    if (refusal) return { ok: false, refusal };
  }
  const tooLong = outOfRange('trigger time of the day', hours, 0, 24, 'h');
  if (tooLong) return { ok: false, refusal: tooLong };
  const parts = uses.map(vibrationPoints);
  const points = parts.reduce((a, b) => a + b, 0);
  // At the action value something must be done; the limit value itself must not be passed.
  const stand = points > limitPoints ? 'over-limit' : points >= actionPoints ? 'over-action' : 'under-action';
  return given({ points, a8MS2: 2.5 * Math.sqrt(points / 100), parts, stand });
}

/** Seconds of this tool left until so many points in all; 0 when passed, null for a tool that does not vibrate. */
export function triggerLeftS(pointsSoFar: number, aMS2: number, untilPoints: number): number | null {
  if (!(aMS2 > 0)) return null;
  return Math.max(0, ((untilPoints - pointsSoFar) * 3600) / (2 * aMS2 * aMS2));
}
