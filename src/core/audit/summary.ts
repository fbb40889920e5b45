import type { Audit } from './audit.ts';
import type { SeverityCounts } from './finding.ts';
import type { RunFigures } from './figures.ts';
import { dataText, eventsNamed, type Gathered } from './gather.ts';
import type { VisitSummary } from './visit-summary.ts';
import { utcOf } from './wall-time.ts';

/** Raised when a summary of old cannot be read as one of today: it is then made again from its record. */
export const summaryVersion = 2;

/**
 * What a list of runs and all figures across runs need of one run: made once from its record and kept beside it, a few
 * kilobytes. Plain JSON.
 */
export interface RunSummary {
  readonly v: typeof summaryVersion;
  readonly runId: string;
  readonly title: string;
  readonly simulated: boolean;
  /** ISO 8601 UTC; '' not known. */
  readonly startedAt: string;
  readonly engineer: string;
  readonly site: string;
  readonly client: string;
  /** Kit that gave the readings; '' not known: the rig. */
  readonly rig: string;
  readonly system: string;
  /** Newest stage; 'end' when it is over. */
  readonly stage: string;
  readonly endS: number;
  readonly sealed: 'good' | 'broken' | 'none';
  readonly counts: SeverityCounts;
  /** Rule ids with how many findings of each. */
  readonly findings: Readonly<Record<string, number>>;
  /** Figures of the run by name (figures.ts); null: not measured or not applicable. */
  readonly figures: RunFigures;
  readonly visits: readonly VisitSummary[];
}

/** The summary of a run that was gathered and audited. Pure. */
export function summarise(run: Gathered, audited: Audit): RunSummary {
  const { head, seal } = run.input;
  const findings: Record<string, number> = {};
  for (const { id } of audited.findings) findings[id] = (findings[id] ?? 0) + 1;
  return {
    v: summaryVersion,
    runId: head.runId,
    title: head.title,
    simulated: head.simulated,
    startedAt: utcOf(head.startedAt || String(run.driven.context.started_at ?? '')),
    engineer: told(run, 'engineer') || newest(run, 'seal', 'by'),
    site: told(run, 'site'),
    client: told(run, 'client'),
    rig: newest(run, 'kit-hello', 'kit') || (run.driven.context.kit?.id ?? ''),
    system: run.driven.context.system ?? '',
    stage: run.driven.job.stage ?? '',
    endS: run.endS,
    sealed: seal?.state ?? 'none',
    counts: audited.counts,
    findings,
    figures: audited.figures,
    visits: audited.visits,
  };
}

/** What was signed at the hand-over, else what the context carries under that name. */
function told(run: Gathered, key: 'engineer' | 'site' | 'client'): string {
  const noted = run.driven.context[key];
  return newest(run, 'hand-over', key) || (typeof noted === 'string' ? noted.trim() : '');
}

function newest(run: Gathered, event: string, key: string): string {
  const found = eventsNamed(run, event).findLast((e) => dataText(e.event, key) !== '');
  return found ? dataText(found.event, key) : '';
}
