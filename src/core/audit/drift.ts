import { cusumThreshold } from '../changepoint/arl.ts';
import { Cusum } from '../changepoint/cusum.ts';
import { Moments } from '../changepoint/detector.ts';
import { real } from './across.ts';
import { inTime } from './charts.ts';
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
  /** Runs from which a kit's own usual level is learned. */
  readonly learn: number;
  /** Allowance, in standard deviations: half the shift that matters. */
  readonly k: number;
  /** Runs between two false alarms, on average, were the level known for sure. */
  readonly runsPerFalseAlarm: number;
}

export const driftSettings: DriftSettings = { learn: 8, k: 0.5, runsPerFalseAlarm: 500 };

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
 * Kits that drift from run to run: a two-sided cumulative sum (Page 1954) per kit and level against what its own first
 * runs showed. Learned from few runs the usual level is itself unsure, so false alarms come more often than the setting
 * says: it is a reason to look at the kit, no proof.
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
  const cusum = new Cusum({ reference: { samples: learn, minSd }, k, h });
  const first = new Moments();
  for (const { value } of series.slice(0, learn)) first.add(value);
  const usual = series.length >= learn ? { mean: first.mean, sd: Math.max(first.sd, minSd) } : null;
  let shift: KitDrift['shift'] = null;
  const points = series.map((p, i) => {
    const change = cusum.step(p.value, i);
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
