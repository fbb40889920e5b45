import type { z } from 'zod';
import type { Grouping } from '../core/audit/across.ts';
import type { AcrossView, SideBySide } from '../core/audit/across-schema.ts';
import type {
  Again,
  againRequestSchema,
  CommentView,
  DrawnSpanView,
  ExportJob,
  lotSchema,
  RunPage,
  runListSchema,
  SealView,
  sealStates,
  sortNames,
  TakenIn,
} from '../core/audit/page-schema.ts';
import type { PeopleKeeper } from './access.ts';

export interface RunQuery {
  readonly search: string;
  readonly sort: (typeof sortNames)[number];
  readonly descending: boolean;
  readonly from: number;
  readonly count: number;
  readonly seal?: (typeof sealStates)[number] | undefined;
  readonly onlyOpen?: boolean | undefined;
  readonly since?: string | undefined;
  readonly before?: string | undefined;
}

export interface Download {
  readonly type: string;
  readonly name: string;
  readonly content: { readonly bytes: Uint8Array } | { readonly path: string };
}

export const runFiles = [
  'recording.zip',
  'recording.csv',
  'events.csv',
  'visits.csv',
  'findings.csv',
  'report.pdf',
  'report.html',
  'chart.svg',
  'run.json',
] as const;
export type RunFile = (typeof runFiles)[number];

export interface FileOptions {
  readonly paper: 'a4' | 'letter';
  readonly fromS?: number | undefined;
  readonly toS?: number | undefined;
  readonly channels: readonly string[];
}

/** The runs that are kept, for the office; given by src/run. Throws `Problem` for what cannot be done. */
export interface AuditPort {
  readonly people: PeopleKeeper;
  list(query: RunQuery): z.infer<typeof runListSchema>;
  /** So many runs of those that the query names, by lot. */
  pick(query: RunQuery, count: number, seed: string): z.infer<typeof lotSchema>;
  has(runId: string): boolean;
  page(runId: string): RunPage;
  trace(runId: string, channels: readonly string[], fromS: number, toS: number, buckets: number): DrawnSpanView;
  /** Throws a ZodError for settings that are unknown or out of range. */
  again(runId: string, request: z.infer<typeof againRequestSchema>): Promise<Again>;
  /** Looks at the sealed files now. */
  seal(runId: string): Promise<SealView>;
  /** Throws Problem: what it closes or opens is no finding of the run. */
  comment(runId: string, comment: Omit<CommentView, 'writtenAt'>): void;
  file(runId: string, file: RunFile, options: FileOptions): Promise<Download>;
  /** Figures across runs, side by side. */
  across(query: RunQuery, by: Grouping, measure: string): AcrossView;
  sideBySide(runIds: readonly string[]): SideBySide;
  takeIn(name: string, body: AsyncIterable<Uint8Array>): Promise<TakenIn>;
  startExport(runIds: readonly string[]): ExportJob;
  exportJob(id: string): ExportJob | null;
  exportFile(id: string): Download | null;
}
