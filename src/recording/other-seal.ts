import type { Message } from '../core/message/message.ts';
import { sealNamed } from '../core/seal/named.ts';
import type { StoredEvent } from '../store/store.ts';
import type { SealCheck } from './seal-check.ts';

/**
 * A seal that is not the one that the chain ends with: not there, or by another key; null: it is, or the chain ends with
 * none. Who kept the chain's last entry knows by it of a seal that was taken away or made anew.
 *
 * @param goneAs code of the message for a seal that is not there
 */
export function otherSeal(
  last: StoredEvent | undefined,
  { state, fingerprint }: Pick<SealCheck, 'state' | 'fingerprint'>,
  goneAs: 'seal-gone' | 'seal-not-here' | 'seal-cut-short' = 'seal-gone',
): Message | null {
  const named = sealNamed(last);
  if (named === null) return null;
  if (state === 'unsigned') return { code: goneAs, params: { ...named } };
  // Of a seal that cannot be read there is no key to compare.
  if (named.key === '' || fingerprint === '' || named.key === fingerprint) return null;
  return { code: 'seal-other-key', params: { ...named, found: fingerprint } };
}
