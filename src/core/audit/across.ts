/** By what runs are set side by side. */
export const groupings = ['emitter-type', 'engineer', 'rig', 'month'] as const;
export type Grouping = (typeof groupings)[number];

/** How a figure lies over several runs or visits: quantiles, not one mean. */
export interface Distribution {
  readonly n: number;
  readonly least: number;
  readonly q1: number;
  readonly median: number;
  readonly q3: number;
  readonly most: number;
  readonly mean: number;
  /** Standard deviation (n - 1); null for a single value. */
  readonly sd: number | null;
}

/** One group of runs with the distribution of each measure; a measure without a value is null. */
export interface Group {
  readonly key: string;
  readonly runs: number;
  readonly visits: number;
  readonly measures: Readonly<Record<string, Distribution | null>>;
}

export interface ChartPoint {
  readonly runId: string;
  readonly startedAt: string;
  readonly value: number;
  /** Why it stands out; empty: it does not. */
  readonly signals: readonly string[];
}

/** A control chart: the centre, the limits, and which points stand out. */
export interface ControlChart {
  readonly kind: 'individuals' | 'moving-range' | 'mean-range' | 'mean-sd' | 'range' | 'sd';
  readonly centre: number;
  readonly upper: number;
  readonly lower: number;
  readonly points: readonly ChartPoint[];
  readonly source: string;
}
