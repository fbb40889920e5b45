import { genesisHash, type Link, linkHash, type Sha256 } from './chain.ts';

/**
 * One thing that is wrong with a chain. `position` counts the links as found, from 0; `index` is the place in the
 * chain that is meant.
 *
 * changed   the content of a link is not what was chained
 * dropped   a link is missing between others
 * swapped   a link stands at another place than its index
 * inserted  a link that the chain does not know
 * truncated links are missing at the end (only seen when the expected end is known: seal, data package)
 * head      the run's head is not the one that the chain began with
 */
export interface ChainFault {
  readonly kind: 'changed' | 'dropped' | 'swapped' | 'inserted' | 'truncated' | 'head';
  readonly index: number;
  readonly position: number;
  /** How many links, from `index` on, where more than one can be meant (dropped, truncated). */
  readonly count?: number;
}

export interface ChainEnd {
  readonly count: number;
  /** Hash of the last link; the genesis hash when there is none. */
  readonly hash: string;
}

export type ChainVerdict =
  | { readonly intact: true; readonly end: ChainEnd }
  | { readonly intact: false; readonly faults: readonly ChainFault[] };

interface Found {
  readonly link: Link;
  readonly position: number;
  /** Its own hash fits its own content. */
  readonly whole: boolean;
}

/** Of several links that claim one index, the one that its neighbours know; the others were put in. */
function chooseTrue(rivals: readonly Found[], prevHash: string | undefined, nextPrevs: readonly string[]): Found {
  const score = (f: Found): number =>
    (f.whole ? 4 : 0) + (nextPrevs.includes(f.link.hash) ? 2 : 0) + (f.link.prevHash === prevHash ? 1 : 0);
  return rivals.reduce((best, f) => (score(f) > score(best) ? f : best));
}

/** The chain in the order of its indexes, with what was put in set apart. */
function sortOut(
  found: readonly Found[],
  genesis: string,
  expected: ChainEnd | undefined,
  faults: ChainFault[],
): Found[] {
  const byIndex = new Map<number, Found[]>();
  for (const f of found) byIndex.set(f.link.index, [...(byIndex.get(f.link.index) ?? []), f]);
  const kept: Found[] = [];
  for (const index of [...byIndex.keys()].sort((a, b) => a - b)) {
    const rivals = byIndex.get(index) ?? [];
    const prevHash = index === 0 ? genesis : kept.at(-1)?.link.hash;
    const nextPrevs = (byIndex.get(index + 1) ?? []).map((f) => f.link.prevHash);
    if (expected?.count === index + 1) nextPrevs.push(expected.hash);
    const first = rivals[0];
    if (!first) continue;
    const chosen = rivals.length === 1 ? first : chooseTrue(rivals, prevHash, nextPrevs);
    kept.push(chosen);
    for (const f of rivals) if (f !== chosen) faults.push({ kind: 'inserted', index, position: f.position });
  }
  return kept;
}

/** Links that do not stand in rising order: all but the longest rising run of positions (patience sorting). */
function misplaced(kept: readonly Found[]): Found[] {
  const tails: number[] = [];
  const before: number[] = [];
  for (const [i, f] of kept.entries()) {
    let low = 0;
    let high = tails.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      const tail = kept[tails[middle] ?? 0];
      if (tail && tail.position < f.position) low = middle + 1;
      else high = middle;
    }
    before[i] = low > 0 ? (tails[low - 1] ?? -1) : -1;
    tails[low] = i;
  }
  const inOrder = new Set<number>();
  for (let i = tails.at(-1) ?? -1; i >= 0; i = before[i] ?? -1) inOrder.add(i);
  return kept.filter((_, i) => !inOrder.has(i));
}

/** Missing indexes and broken joins along the sorted chain. */
function followLinks(kept: readonly Found[], genesis: string, faults: ChainFault[]): void {
  let prev: Found | null = null;
  for (const f of kept) {
    const { index } = f.link;
    const expected: number = prev ? prev.link.index + 1 : 0;
    if (index > expected)
      faults.push({ kind: 'dropped', index: expected, count: index - expected, position: f.position });
    const adjoins = expected === index;
    const known: string = prev ? prev.link.hash : genesis;
    // A link whose own hash does not fit is told already; here: one rewritten together with its hash.
    if (adjoins && f.link.prevHash !== known && f.whole && (prev?.whole ?? true)) {
      if (prev) faults.push({ kind: 'changed', index: prev.link.index, position: prev.position });
      else faults.push({ kind: 'head', index: 0, position: f.position });
    }
    prev = f;
  }
}

function checkEnd(kept: readonly Found[], genesis: string, expected: ChainEnd, faults: ChainFault[]): void {
  const last = kept.at(-1);
  const count = last ? last.link.index + 1 : 0;
  const hash = last ? last.link.hash : genesis;
  if (count < expected.count)
    faults.push({ kind: 'truncated', index: count, count: expected.count - count, position: count });
  else if (count > expected.count) {
    for (const f of kept)
      if (f.link.index >= expected.count) faults.push({ kind: 'inserted', index: f.link.index, position: f.position });
  } else if (hash !== expected.hash && faults.length === 0) {
    if (last) faults.push({ kind: 'changed', index: last.link.index, position: last.position });
    else faults.push({ kind: 'head', index: 0, position: 0 });
  }
}

/**
 * Is this chain what was written, link by link; if not, what was done to it and where. Without `expected` an end cut
 * off cannot be seen. A chain shows a change after the fact, to who kept its end apart (a seal, a printed hash); it
 * does not prove that the sensor was in the water.
 */
export function verifyChain(head: unknown, links: readonly Link[], sha256: Sha256, expected?: ChainEnd): ChainVerdict {
  const genesis = genesisHash(head, sha256);
  const faults: ChainFault[] = [];
  const found = links.map((link, position) => ({ link, position, whole: linkHash(link, sha256) === link.hash }));
  const kept = sortOut(found, genesis, expected, faults);
  for (const f of kept) if (!f.whole) faults.push({ kind: 'changed', index: f.link.index, position: f.position });
  for (const f of misplaced(kept)) faults.push({ kind: 'swapped', index: f.link.index, position: f.position });
  followLinks(kept, genesis, faults);
  if (expected) checkEnd(kept, genesis, expected, faults);
  if (faults.length > 0) return { intact: false, faults: faults.sort((a, b) => a.index - b.index) };
  return { intact: true, end: { count: links.length, hash: links.at(-1)?.hash ?? genesis } };
}
