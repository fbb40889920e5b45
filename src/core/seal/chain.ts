import { canonical } from './canonical.ts';

/** SHA-256 of the UTF-8 bytes of a text, as 64 lower-case hex digits. Given by the shell: core has no hash of its own. */
export type Sha256 = (text: string) => string;

/** What a link says, before it is chained. `event` is any JSON value. */
export interface LinkContent {
  readonly id: string;
  readonly event: unknown;
  readonly who: string;
  readonly wallAt: string;
}

/** One entry of the chain. `hash` covers everything else in it, `prevHash` included. */
export interface Link extends LinkContent {
  /** Counts from 0. */
  readonly index: number;
  readonly prevHash: string;
  readonly hash: string;
}

/**
 * What the first link's `prevHash` must be: the hash of the run's head (what was known when it began), so that the
 * chain covers the head too.
 */
export function genesisHash(head: unknown, sha256: Sha256): string {
  return sha256(canonical(head));
}

/** The hash that a link must carry. */
export function linkHash(link: Omit<Link, 'hash'>, sha256: Sha256): string {
  const { index, id, event, who, wallAt, prevHash } = link;
  return sha256(canonical({ index, id, event, who, wallAt, prevHash }));
}

/** Chain one more entry on. `prevHash` is the last link's hash, or `genesisHash` for the first. */
export function nextLink(index: number, prevHash: string, content: LinkContent, sha256: Sha256): Link {
  const { id, event, who, wallAt } = content;
  const open = { index, id, event, who, wallAt, prevHash };
  return { ...open, hash: linkHash(open, sha256) };
}
