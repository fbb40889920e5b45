import { sealEntry } from '../core/audit/coverage.ts';
import { say } from '../core/message/message.ts';
import type { SealNamed } from '../core/seal/named.ts';
import { day, type Fact, missing, said } from './fact.ts';
import type { Gathered } from './gather.ts';

/** A seal that the record tells of and that is not here. */
export interface SealGone {
  readonly named: SealNamed;
  /** Its sealing was never ended: what there is is a draft. */
  readonly isCutShort: boolean;
}

export function sealGone(g: Gathered): SealGone | null {
  const { seal, chain, sealGone: told } = g.input;
  const named = seal === null && chain !== null ? sealEntry(g) : null;
  return named && { named, isCutShort: told?.code === 'seal-cut-short' };
}

/** Who sealed, and what to do; '' where a check of the record's files has told it. */
export function sealGoneWords(g: Gathered): string {
  const gone = sealGone(g);
  if (!gone || g.input.faults?.some((f) => f.code === 'seal-gone')) return '';
  return say(g.input.sealGone ?? { code: 'seal-not-here', params: { ...gone.named } });
}

/** What a record without its seal says of it, in a line. */
export function sealGoneFact(g: Gathered): Fact {
  const gone = sealGone(g);
  if (!gone) return missing('the run is not sealed yet');
  const { by, at } = gone.named;
  const who = `${at === '' ? '' : `${day(at)} `}by ${by || 'somebody'}`;
  return said(
    gone.isCutShort ? `begun ${who}, and cut short before anything was signed` : `${who}; the sealed copy is not here`,
  );
}
