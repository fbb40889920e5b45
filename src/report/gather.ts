import type { Gathered as GatheredRecord } from '../core/audit/gather.ts';
import type { RunRecord } from '../core/audit/record.ts';

export interface SealOnReport {
  readonly state: 'good' | 'broken';
  readonly fingerprint: string;
  readonly sealedAt: string;
  readonly head: string;
  /** Who trusts the key by what name; null: it is not among the known keys. */
  readonly keyName: string | null;
}

export interface ReportInput extends RunRecord {
  readonly seal: SealOnReport | null;
  readonly comments: readonly { readonly by: string; readonly text: string; readonly written_at: string }[];
  /** ISO 8601 UTC. */
  readonly madeAt: string;
}

export type Gathered = GatheredRecord<ReportInput>;
