import { type Distribution, distributionOf } from './distribution.ts';
import { type Measure, measures } from './measures.ts';
import type { RunSummary } from './summary.ts';
import type { VisitSummary } from './visit-summary.ts';

/** By what runs are set side by side. */
export const groupings = ['emitter-type', 'engineer', 'rig', 'month'] as const;
export type Grouping = (typeof groupings)[number];

/** One group with the distribution of each measure; null where nothing of it was measured, or it is not of a visit. */
export interface Group {
  /** '' where it was not said. */
  readonly key: string;
  readonly runs: number;
  readonly visits: number;
  /** Visits that were clear when they were left, and those whose emitter was done. */
  readonly cleared: number;
  readonly done: number;
  readonly overrides: number;
  readonly falseStarts: number;
  readonly measures: Readonly<Record<string, Distribution | null>>;
}

export interface Across {
  readonly by: Grouping;
  readonly runs: number;
  /** In the order of their names, not of their figures: this is no league table. */
  readonly groups: readonly Group[];
  /** The same over all of them. */
  readonly all: Group;
}

interface Gathering {
  readonly runs: RunSummary[];
  readonly visits: VisitSummary[];
}

/** Runs side by side. Simulated ones are left out unless all are. Pure. */
export function across(summaries: readonly RunSummary[], by: Grouping): Across {
  const used = real(summaries);
  const groups = gatherBy(used, by);
  const all: Gathering = { runs: [...used], visits: used.flatMap((r) => r.visits) };
  return {
    by,
    runs: used.length,
    groups: [...groups]
      .toSorted(([a], [b]) => (a < b ? -1 : a > b ? 1 : 0))
      .map(([key, gathering]) => groupOf(key, gathering, by !== 'emitter-type')),
    all: groupOf('', all, true),
  };
}

/** Water that was made up says nothing of the firm's work. */
export function real(summaries: readonly RunSummary[]): readonly RunSummary[] {
  const found = summaries.filter((s) => !s.simulated);
  return found.length > 0 ? found : summaries;
}

function gatherBy(summaries: readonly RunSummary[], by: Grouping): Map<string, Gathering> {
  const groups = new Map<string, Gathering>();
  const at = (key: string): Gathering => {
    const known = groups.get(key) ?? { runs: [], visits: [] };
    groups.set(key, known);
    return known;
  };
  for (const run of summaries) {
    if (by !== 'emitter-type') {
      const group = at(keyOf(run, by));
      group.runs.push(run);
      group.visits.push(...run.visits);
      continue;
    }
    for (const visit of run.visits) {
      const group = at(visit.type);
      if (group.runs.at(-1) !== run) group.runs.push(run);
      group.visits.push(visit);
    }
  }
  return groups;
}

function keyOf(run: RunSummary, by: Exclude<Grouping, 'emitter-type'>): string {
  if (by === 'engineer') return run.engineer.trim();
  return by === 'rig' ? run.rig : run.startedAt.slice(0, 7);
}

/** Values of a measure in one group. Figures of a whole run do not belong to a type of emitter. */
function valuesOf(measure: Measure, { runs, visits }: Gathering, withRuns: boolean): readonly (number | null)[] {
  if ('visit' in measure.of) return visits.map(measure.of.visit);
  return withRuns ? runs.map(measure.of.run) : [];
}

function groupOf(key: string, gathering: Gathering, withRuns: boolean): Group {
  const { runs, visits } = gathering;
  const count = (holds: (v: VisitSummary) => boolean): number => visits.filter(holds).length;
  return {
    key,
    runs: new Set(runs).size,
    visits: visits.length,
    cleared: count((v) => v.clearAfterS !== null),
    done: count((v) => v.done),
    overrides: count((v) => v.overridden),
    falseStarts: count((v) => v.falseStart),
    measures: Object.fromEntries(
      Object.entries(measures).map(([name, m]) => [name, distributionOf(valuesOf(m, gathering, withRuns))]),
    ),
  };
}

/** Values of one measure by group, in the order of the groups' names; for charts of means. */
export function valuesByGroup(
  summaries: readonly RunSummary[],
  by: Grouping,
  measure: Measure,
): readonly { readonly key: string; readonly values: readonly number[] }[] {
  return [...gatherBy(real(summaries), by)]
    .toSorted(([a], [b]) => (a < b ? -1 : a > b ? 1 : 0))
    .map(([key, gathering]) => ({
      key,
      values: valuesOf(measure, gathering, by !== 'emitter-type').flatMap((v) => (v === null ? [] : [v])),
    }));
}
