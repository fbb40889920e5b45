import { type Grouping, real, valuesByGroup } from './across.ts';
import { type ChartInput, type ControlChart, individualsChart, leastPoints, meanSdChart } from './control-chart.ts';
import { distributionOf } from './distribution.ts';
import { type Measure, measures } from './measures.ts';
import type { RunSummary } from './summary.ts';

export interface MeasureCharts {
  readonly measure: string;
  readonly title: string;
  readonly unit: string;
  /** Run after run, in the order of time; null: too few runs for limits that mean something. */
  readonly overTime: ControlChart | null;
  /** Group beside group; a group of one value is left out. Null: fewer than two groups, or not of a group. */
  readonly byGroup: ControlChart | null;
}

/**
 * Control charts of one measure: what is usual in this firm, and what stands outside of it. Of a measure of visits a
 * run counts with its median. Measures that spread over decades are charted by their logarithms and shown as they are,
 * so that the centre is a geometric mean. Throws a RangeError for an unknown measure.
 */
export function chartsOf(summaries: readonly RunSummary[], measure: string, by: Grouping): MeasureCharts {
  const known = measures[measure];
  if (!known) throw new RangeError(`no measure "${measure}"; there is: ${Object.keys(measures).join(', ')}`);
  const series = scaled(known, perRun(summaries, known));
  const groups = scaled(known, valuesByGroup(summaries, by, known)).filter((g) => g.values.length >= 2);
  const overTime = series.length >= leastPoints ? (individualsChart(series)?.individuals ?? null) : null;
  const byGroup = groups.length >= 2 ? (meanSdChart(groups)?.means ?? null) : null;
  return {
    measure,
    title: known.title,
    unit: known.unit,
    overTime: shown(known, overTime),
    byGroup: shown(known, byGroup),
  };
}

function perRun(summaries: readonly RunSummary[], { of }: Measure): ChartInput[] {
  return inTime(real(summaries)).flatMap((run): ChartInput[] => {
    const value = 'run' in of ? of.run(run) : (distributionOf(run.visits.map(of.visit))?.median ?? null);
    return value === null ? [] : [{ key: run.runId, values: [value] }];
  });
}

/** Runs in the order in which they began; those without a date come first, as they are. */
export function inTime(summaries: readonly RunSummary[]): readonly RunSummary[] {
  return summaries.toSorted((a, b) => (a.startedAt < b.startedAt ? -1 : a.startedAt > b.startedAt ? 1 : 0));
}

function scaled(measure: Measure, inputs: readonly ChartInput[]): ChartInput[] {
  if (measure.scale === 'linear') return [...inputs];
  return inputs.flatMap(({ key, values }): ChartInput[] => {
    const logs = values.flatMap((v) => (v > 0 ? [Math.log(v)] : []));
    return logs.length === 0 ? [] : [{ key, values: logs }];
  });
}

function shown(measure: Measure, chart: ControlChart | null): ControlChart | null {
  if (chart === null || measure.scale === 'linear') return chart;
  return {
    ...chart,
    centre: Math.exp(chart.centre),
    points: chart.points.map((p) => ({
      ...p,
      value: Math.exp(p.value),
      upper: Math.exp(p.upper),
      lower: Math.exp(p.lower),
    })),
  };
}
