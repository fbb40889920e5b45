import { cusumThreshold } from '../changepoint/arl.ts';
import { Cusum } from '../changepoint/cusum.ts';
import { Moments } from '../changepoint/detector.ts';
import { real } from './across.ts';
import { inTime } from './charts.ts';
import { normalQuantile, studentTail } from '../quantity/special.ts';
import { figureList } from './figures.ts';
import type { RunSummary } from './summary.ts';

/** What a kit reads where the truth is known (kit-levels.ts), with the least spread that counts as one. */
const levels: Readonly<Record<string, number>> = {
  kitNoiseNtu: 0.02,
  kitCleanNtu: 0.2,
  kitZeroLpm: 0.05,
  kitConductivityRatio: 0.01,
};

export interface DriftSettings {
  /** Runs that a kit is watched before anything is said of it. */
  readonly learn: number;
  /** Allowance, in standard deviations: half the shift that matters. */
  readonly k: number;
  /** Runs between two false alarms of one level of one kit, on average. */
  readonly runsPerFalseAlarm: number;
}

export const driftSettings: DriftSettings = { learn: 8, k: 0.5, runsPerFalseAlarm: 2000 };

export interface DriftPoint {
  readonly runId: string;
  readonly startedAt: string;
  readonly value: number;
  /** The two sums over the threshold: 1 and more is said. 0 while learning. */
  readonly level: number;
}

/** How one level of one kit went from run to run. */
export interface KitDrift {
  readonly rig: string;
  readonly figure: string;
  readonly title: string;
  readonly unit: string;
  readonly points: readonly DriftPoint[];
  /** What the first runs showed; null while there are too few. */
  readonly usual: { readonly mean: number; readonly sd: number } | null;
  /** The first shift away from it: from which run on, and at which it was sure; null: none. */
  readonly shift: {
    readonly direction: 'up' | 'down';
    readonly fromRunId: string;
    readonly saidRunId: string;
    /** Mean from there on, less the usual level. */
    readonly by: number;
  } | null;
}

/**
 * Kits that drift from run to run: a two-sided self-starting cumulative sum (Page 1954; Hawkins 1987) per kit and level.
 * Each run is held against all before it, with what so few of them leave unsure, so that false alarms come no more often
 * than the setting says. It is a reason to look at the kit, no proof.
 */
export function kitDrifts(summaries: readonly RunSummary[], settings: DriftSettings = driftSettings): KitDrift[] {
  const byRig = new Map<string, RunSummary[]>();
  for (const run of inTime(real(summaries))) {
    if (run.rig === '') continue;
    const known = byRig.get(run.rig);
    if (known) known.push(run);
    else byRig.set(run.rig, [run]);
  }
  const h = cusumThreshold(settings.runsPerFalseAlarm, settings.k, 'two');
  return [...byRig]
    .toSorted(([a], [b]) => (a < b ? -1 : 1))
    .flatMap(([rig, runs]) =>
      Object.keys(levels).flatMap((figure) => {
        const points = runs.flatMap(({ runId, startedAt, figures }) => {
          const value = figures[figure] ?? null;
          return value === null ? [] : [{ runId, startedAt, value }];
        });
        return points.length === 0 ? [] : [driftOf(rig, figure, points, settings, h)];
      }),
    );
}

function driftOf(
  rig: string,
  figure: string,
  series: readonly Omit<DriftPoint, 'level'>[],
  { learn, k }: DriftSettings,
  h: number,
): KitDrift {
  const minSd = levels[figure] ?? 1e-9;
  const cusum = new Cusum({ reference: { mean: 0, sd: 1 }, k, h });
  const scores = selfStarting(
    series.map((p) => p.value),
    minSd,
  );
  const first = new Moments();
  for (const { value } of series.slice(0, learn)) first.add(value);
  const usual = series.length >= learn ? { mean: first.mean, sd: Math.max(first.sd, minSd) } : null;
  let shift: KitDrift['shift'] = null;
  const points = series.map((p, i) => {
    const change = cusum.step(i < learn ? Number.NaN : (scores[i] ?? Number.NaN), i);
    if (change && shift === null && usual) {
      const since = new Moments();
      for (const { value } of series.slice(change.onsetIndex, change.saidIndex + 1)) since.add(value);
      const fromRunId = series[change.onsetIndex]?.runId ?? p.runId;
      const direction = change.direction === 'down' ? 'down' : 'up';
      shift = { direction, fromRunId, saidRunId: p.runId, by: since.mean - usual.mean };
    }
    return { ...p, level: cusum.level };
  });
  const { title = figure, unit = '' } = figureList[figure] ?? {};
  return { rig, figure, title, unit, points, usual, shift };
}

/**
 * Each value against the mean and spread of those before it: T = (x - mean) / sd * sqrt(n / (n + 1)) is a Student t with
 * n - 1 degrees of freedom while nothing changes, and its normal score an independent standard normal one (Hawkins 1987).
 * NaN for the first two.
 */
export function selfStarting(values: readonly number[], minSd: number): number[] {
  const before = new Moments();
  return values.map((value) => {
    const { n, mean, sd } = before;
    before.add(value);
    if (n < 2) return Number.NaN;
    const t = ((value - mean) / Math.max(sd, minSd)) * Math.sqrt(n / (n + 1));
    const tail = Math.max(1e-12, studentTail(Math.abs(t), n - 1));
    return Math.sign(t) * -normalQuantile(tail);
  });
}
