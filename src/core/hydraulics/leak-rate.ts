import { coverage, times, type Uncertain } from '../quantity/interval.ts';
import { given, type Outcome, refused } from '../quantity/refusal.ts';
import type { SystemKind } from './bands.ts';
import { fit } from './common-slope.ts';

export interface HoldSettings {
  /** Pressure change of the closed circuit by temperature, bar/K: 0 to 0.04 taken as equally likely. No source. */
  readonly barPerKelvin: Uncertain;
  /** Shortest hold that is judged, s: common practice, no source. */
  readonly leastS: number;
  /** A leak smaller than this does not matter for the job, bar/min: our choice, no source. */
  readonly smallestBarPerMin: number;
}

export const holdSettings: HoldSettings = {
  barPerKelvin: { value: 0.02, u: 0.02 / Math.sqrt(3) },
  leastS: 120,
  smallestBarPerMin: 0.005,
};

export interface HoldPoint {
  readonly timeS: number;
  readonly bar: number | null;
  /** Null: not measured at this instant. */
  readonly celsius: number | null;
}

export interface HoldResult {
  /** Fall of pressure that temperature does not explain, bar/min; positive is a loss. */
  readonly barPerMin: Uncertain;
  /** The same as a leak, ml/min; null unless the compliance was measured. */
  readonly mlPerMin: Uncertain | null;
  readonly celsiusPerMin: number | null;
  readonly lastedS: number;
  /**
   * `leak`: beyond its uncertainty. `rising`: pressure climbs beyond it, water comes in. `none-seen`: nothing beyond
   * it, and it is small enough to say so. `too-uncertain`: hold on for longer.
   */
  readonly verdict: 'leak' | 'rising' | 'none-seen' | 'too-uncertain';
  /** Least leak that this hold could have shown, bar/min. */
  readonly leastSeenBarPerMin: number;
}

/**
 * Pressure-hold test: the slope of p - k T over the hold, least squares with its uncertainty widened for residuals that
 * remember, and the uncertainty of k carried through the slope of the temperature. Without a thermometer a change of
 * 1 K over the hold is allowed for, either way.
 *
 * @param litresPerBar measured compliance, or null: then a leak is told in bar/min only
 */
export function pressureHold(
  points: readonly HoldPoint[],
  system: SystemKind,
  litresPerBar: Uncertain | null,
  settings: HoldSettings = holdSettings,
): Outcome<HoldResult> {
  if (system === 'open-vented') return refused('hold-open-vented');
  const read = points.filter((p) => p.bar !== null && Number.isFinite(p.bar));
  const withC = read.filter((p) => p.celsius !== null && Number.isFinite(p.celsius));
  const hasC = withC.length >= 0.8 * read.length && withC.length > 0;
  const used = hasC ? withC : read;
  const t = used.map((p) => p.timeS);
  const lastedS = (t.at(-1) ?? 0) - (t[0] ?? 0);
  if (used.length < 10 || lastedS < settings.leastS)
    return refused('hold-too-short', { lastedS, leastS: settings.leastS, readings: used.length });
  const k = settings.barPerKelvin;
  const slopeC = hasC
    ? fit(
        t,
        used.map((p) => p.celsius ?? 0),
      ).slope * 60
    : null;
  const line = fit(
    t,
    used.map((p) => (p.bar ?? 0) - (hasC ? k.value * (p.celsius ?? 0) : 0)),
  );
  const byTemperature = slopeC === null ? k.value * (60 / lastedS) : Math.abs(slopeC) * k.u;
  const barPerMin = { value: -60 * line.slope + 0, u: Math.hypot(60 * line.u, byTemperature) };
  return given({
    barPerMin,
    mlPerMin: litresPerBar ? times(barPerMin, { value: 1000 * litresPerBar.value, u: 1000 * litresPerBar.u }) : null,
    celsiusPerMin: slopeC,
    lastedS,
    verdict: verdictOf(barPerMin, settings.smallestBarPerMin),
    leastSeenBarPerMin: coverage * barPerMin.u,
  });
}

function verdictOf(rate: Uncertain, smallest: number): HoldResult['verdict'] {
  const spread = coverage * rate.u;
  // A slope under what matters is no leak, however surely it is known.
  if (rate.value - spread > 0 && rate.value > smallest) return 'leak';
  if (rate.value + spread < 0 && rate.value < -smallest) return 'rising';
  return Math.abs(rate.value) + spread <= 2 * smallest ? 'none-seen' : 'too-uncertain';
}
