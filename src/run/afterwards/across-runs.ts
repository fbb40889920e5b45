import { z } from 'zod';
import { across, type Grouping } from '../../core/audit/across.ts';
import type { AcrossView, SideBySide } from '../../core/audit/across-schema.ts';
import { chartsOf } from '../../core/audit/charts.ts';
import { kitDrifts } from '../../core/audit/drift.ts';
import { figureList } from '../../core/audit/figures.ts';
import { measures } from '../../core/audit/measures.ts';
import { type RunSummary, summaryVersion } from '../../core/audit/summary.ts';

interface Kept {
  readonly runId: string;
  readonly figures: string;
}

/** Written by this program; one of another version is left out until its run was looked at again. */
const summarySchema = z.custom<RunSummary>(
  (value) => z.object({ v: z.literal(summaryVersion) }).safeParse(value).success,
);

function summaries(kept: readonly Kept[]): RunSummary[] {
  return kept.flatMap(({ figures }) => {
    const parsed = summarySchema.safeParse(JSON.parse(figures));
    return parsed.success ? [parsed.data] : [];
  });
}

/** Many runs by group, with the control charts of one measure and the drift of the kits. */
export function acrossRuns(kept: readonly Kept[], by: Grouping, measure: string): AcrossView {
  const runs = summaries(kept);
  const found = across(runs, by);
  const { overTime, byGroup } = chartsOf(runs, measure, by);
  return {
    by,
    measure,
    runs: found.runs,
    measures: Object.entries(measures).map(([id, { title, unit }]) => ({ id, title, unit })),
    groups: found.groups.map((g) => ({ ...g, measures: { ...g.measures } })),
    all: { ...found.all, measures: { ...found.all.measures } },
    overTime: overTime && { ...overTime, points: [...overTime.points] },
    byGroup: byGroup && { ...byGroup, points: [...byGroup.points] },
    drifts: kitDrifts(runs).map((d) => ({ ...d, points: [...d.points] })),
  };
}

/** A few runs with all their figures. */
export function sideBySide(kept: readonly Kept[]): SideBySide {
  const runs = summaries(kept);
  const known = Object.entries(figureList).filter(([id]) => runs.some((r) => (r.figures[id] ?? null) !== null));
  return {
    figures: known.map(([id, { title, unit }]) => ({ id, title, unit })),
    runs: runs.map(({ runId, title, startedAt, engineer, rig, counts, figures, visits }) => ({
      runId,
      title,
      startedAt,
      engineer,
      rig,
      counts: { ...counts },
      figures: { ...figures },
      visits: visits.map(({ emitter, name, visit, state, done, fromS, toS, clearAfterS, passes, peakNtu }) => ({
        emitter,
        name,
        visit,
        state,
        done,
        seconds: toS - fromS,
        clearAfterS,
        passes,
        peakNtu,
      })),
    })),
  };
}
