import type { RunSummary } from './summary.ts';
import type { VisitSummary } from './visit-summary.ts';

/** Something that is set side by side across runs. */
export interface Measure {
  readonly title: string;
  readonly unit: string;
  /** Sizes that spread over decades are charted by their logarithms: limits for Gaussian values fit those better. */
  readonly scale: 'linear' | 'log';
  readonly of:
    | { readonly visit: (v: VisitSummary) => number | null }
    | { readonly run: (r: RunSummary) => number | null };
}

const visit = (
  title: string,
  unit: string,
  scale: Measure['scale'],
  of: (v: VisitSummary) => number | null,
): Measure => ({
  title,
  unit,
  scale,
  of: { visit: of },
});

const run = (title: string, unit: string, figure: string, scale: Measure['scale'] = 'linear'): Measure => ({
  title,
  unit,
  scale,
  of: { run: (r) => r.figures[figure] ?? null },
});

/**
 * Time to clear counts the visits that were clear when they were left: beside it stands how many were not, or the
 * hasty would look quick.
 */
export const measures: Readonly<Record<string, Measure>> = {
  clearAfterS: visit('Time to clear', 's', 'log', (v) => v.clearAfterS),
  visitS: visit('Length of a visit', 's', 'log', (v) => (v.falseStart ? null : v.toS - v.fromS)),
  passes: visit('Passes of a visit', '', 'linear', (v) => (v.falseStart ? null : v.passes)),
  peakNtu: visit('Highest turbidity of a visit', 'NTU', 'log', (v) => v.peakNtu),
  solidsG: visit('Solids carried by a visit (estimate)', 'g', 'log', (v) => v.solidsG),
  visitLitres: visit('Water through the sensor in a visit', 'l', 'log', (v) => v.litres),
  withheldS: visit('Time of a visit in which nothing could be told', 's', 'linear', (v) => v.withheldS),
  clearsWithdrawn: visit('Clears withdrawn in a visit', '', 'linear', (v) => v.withdrawn),
  durationMin: run('Length of a run', 'min', 'durationMin'),
  waterUsedL: run('Water used by a run', 'l', 'waterUsedL'),
  runSolidsG: run('Solids carried by a run (estimate)', 'g', 'solidsG', 'log'),
  overrides: run('Overrides in a run', '', 'overrides'),
  falseStarts: run('False starts in a run', '', 'falseStarts'),
  runWithheldS: run('Time of a run in which nothing could be told', 's', 'withheldS'),
};
