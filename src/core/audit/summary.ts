import type { SeverityCounts } from './finding.ts';

/**
 * What a list of runs and all figures across runs need of one run: made once from its record and kept beside it.
 * Small (about 150 bytes a visit), versioned: one of another version is made again.
 */
export interface RunSummary {
  readonly v: 1;
  readonly runId: string;
  readonly title: string;
  readonly simulated: boolean;
  /** ISO 8601 UTC; '' not known. */
  readonly startedAt: string;
  readonly engineer: string;
  readonly site: string;
  readonly client: string;
  /** Kit that gave the readings, '' not known: the rig. */
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
  readonly figures: Readonly<Record<string, number | null>>;
  readonly visits: readonly VisitSummary[];
}

export interface VisitSummary {
  readonly emitter: string;
  readonly name: string;
  /** Of the survey ('panel', 'column', ...), '' not said. */
  readonly type: string;
  readonly visit: number;
  readonly fromS: number;
  readonly toS: number;
  readonly state: string;
  readonly done: boolean;
  readonly withheld: boolean;
  /** Seconds from opening to the clear that stood when it was shut. */
  readonly clearAfterS: number | null;
  readonly passes: number;
  readonly peakNtu: number | null;
  readonly litres: number | null;
  readonly solidsG: number | null;
  /** Seconds in which nothing could be told. */
  readonly withheldS: number;
  readonly overridden: boolean;
  /** Left within a minute, with no pass: opened by mistake. */
  readonly falseStart: boolean;
  /** Clears that were shown and withdrawn again without a new pass. */
  readonly withdrawn: number;
}
