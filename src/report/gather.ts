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

/** Photos, and the names that stand apart so that a copy can leave them out. */
export interface Beside {
  /** `left-out`: the record names them, but the file is not in this copy. */
  readonly details: { readonly client: string; readonly site: string } | 'left-out' | null;
  /** Bytes by the name in the record; what was changed or lost is not among them. */
  readonly photos: ReadonlyMap<string, Uint8Array>;
}

export interface ReportInput extends RunRecord {
  readonly seal: SealOnReport | null;
  readonly comments: readonly { readonly by: string; readonly text: string; readonly written_at: string }[];
  /** What stands beside the record: absent where nobody looked. */
  readonly beside?: Beside;
  /** ISO 8601 UTC. */
  readonly madeAt: string;
}

export type Gathered = GatheredRecord<ReportInput>;

/** Something was found against it: nothing in it proves anything any more. */
export function isChanged({ seal, faults = [] }: RunRecord): boolean {
  return seal?.state === 'broken' || faults.length > 0;
}

/** Nothing but the seal was found: it was made anew with a key that the record does not name. */
export function isByOtherKey({ seal, faults = [] }: RunRecord): boolean {
  return seal?.state === 'good' && faults.length > 0 && faults.every((f) => f.code === 'seal-other-key');
}

/** To be put behind the time of the seal; '' where the record is the one that was sealed. */
export function sealUnfit(input: RunRecord): string {
  if (input.seal?.state === 'broken') return ', but the seal does not fit';
  if (isByOtherKey(input)) return ', but by another key than the record names';
  return isChanged(input) ? ', but this is not the record that was sealed' : '';
}
