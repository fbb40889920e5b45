import type { Uncertain } from '../quantity/interval.ts';
import { given, type Outcome, refused } from '../quantity/refusal.ts';
import { fit } from './common-slope.ts';

/** How far up the filling curve had come: litres so far at a pressure. */
export interface FillPoint {
  readonly litres: number;
  readonly bar: number;
}

/** Last part of filling that is used, bar, and the least of it that must be there. */
const windowBar = 0.3;
const leastBar = 0.15;
const leastPoints = 5;

/**
 * Compliance of the sealed circuit, litres per bar, over the last 0.3 bar of filling: a straight line of litres on
 * pressure. It turns a fall of pressure into litres lost. Gas in the vessel follows Boyle's law, so it holds near the
 * fill pressure only. The flow meter's own share is added by the caller's points; 3 % is added here.
 */
export function complianceOf(points: readonly FillPoint[]): Outcome<Uncertain> {
  const usable = points.filter((p) => Number.isFinite(p.litres) && Number.isFinite(p.bar));
  const top = usable.reduce((most, p) => Math.max(most, p.bar), -Infinity);
  const used = usable.filter((p) => p.bar >= top - windowBar);
  const least = used.reduce((low, p) => Math.min(low, p.bar), Infinity);
  if (used.length < leastPoints || top - least < leastBar)
    return refused('compliance-too-short', { points: used.length, spanBar: Math.max(0, top - least) || 0, leastBar });
  const line = fit(
    used.map((p) => p.bar),
    used.map((p) => p.litres),
  );
  if (!(line.slope > 0)) return refused('compliance-not-rising');
  return given({ value: line.slope, u: Math.hypot(line.u, 0.03 * line.slope) });
}
