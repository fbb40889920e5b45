import { createHash } from 'node:crypto';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { genesisHash, type Link, linkHash, nextLink } from '../../../../src/core/seal/chain.ts';
import { type ChainEnd, type ChainFault, verifyChain } from '../../../../src/core/seal/verify.ts';

const sha256 = (text: string): string => createHash('sha256').update(text).digest('hex');
const head = { runId: 'r1', litres: 80 };

function chainOf(count: number): Link[] {
  const links: Link[] = [];
  for (let i = 0; i < count; i++) {
    const content = { id: `e${i}`, event: { timeS: i, event: 'note' }, who: 'loopback', wallAt: `t${i}` };
    links.push(nextLink(i, links.at(-1)?.hash ?? genesisHash(head, sha256), content, sha256));
  }
  return links;
}
const endOf = (links: readonly Link[]): ChainEnd => ({
  count: links.length,
  hash: links.at(-1)?.hash ?? genesisHash(head, sha256),
});
const faultsOf = (links: readonly Link[], expected?: ChainEnd, of: unknown = head): readonly ChainFault[] => {
  const verdict = verifyChain(of, links, sha256, expected);
  return verdict.intact ? [] : verdict.faults;
};
/** Changed, and its own hash made to fit again. */
function forged(link: Link | undefined, change: Partial<Link>): Link {
  if (!link) throw new Error('no such link');
  const { hash: _, ...rest } = { ...link, ...change };
  return { ...rest, hash: linkHash(rest, sha256) };
}
const changed = (link: Link | undefined): Link => {
  if (!link) throw new Error('no such link');
  return { ...link, event: { timeS: 99, event: 'note' } };
};

describe('a chain of events', () => {
  test('is intact as written, at any length, and says its end', () => {
    for (const count of [0, 1, 2, 9]) {
      const links = chainOf(count);
      expect(verifyChain(head, links, sha256, endOf(links))).toEqual({ intact: true, end: endOf(links) });
    }
  });

  test('each fault alone is found and located, at every place of the chain', () => {
    const count = 6;
    const whole = chainOf(count);
    const end = endOf(whole);
    for (let i = 0; i < count; i++) {
      const with_ = (link: Link): Link[] => whole.with(i, link);
      expect(faultsOf(with_(changed(whole[i])), end)).toEqual([{ kind: 'changed', index: i, position: i }]);
      const rewritten = faultsOf(with_(forged(whole[i], { event: { timeS: 99 } })), end);
      expect(rewritten).toEqual([{ kind: 'changed', index: i, position: i }]);
      const extra = forged(whole[i], { id: 'extra' });
      expect(faultsOf(whole.toSpliced(i, 0, extra), end)).toEqual([{ kind: 'inserted', index: i, position: i }]);
      const cut = whole.slice(0, i);
      expect(faultsOf(cut, end)).toEqual([{ kind: 'truncated', index: i, count: count - i, position: i }]);
      // Without the end a shorter chain is a chain.
      expect(faultsOf(cut)).toEqual([]);
    }
  });

  test('a link dropped between others, and two swapped, are found and located', () => {
    const whole = chainOf(6);
    for (const [i, [a, b]] of whole
      .slice(1)
      .map((b, k) => [whole[k] ?? b, b] as const)
      .entries()) {
      expect(faultsOf(whole.toSpliced(i, 1))).toEqual([{ kind: 'dropped', index: i, count: 1, position: i }]);
      const faults = faultsOf(whole.with(i, b).with(i + 1, a), endOf(whole));
      expect(faults).toMatchObject([{ kind: 'swapped' }]);
      expect([i, i + 1]).toContain(faults[0]?.index);
    }
  });

  test('links added after the end are found, chained rightly or not', () => {
    const whole = chainOf(4);
    expect(faultsOf(chainOf(6), endOf(whole))).toMatchObject([
      { kind: 'inserted', index: 4 },
      { kind: 'inserted', index: 5 },
    ]);
  });

  test('another head is found', () => {
    const whole = chainOf(3);
    expect(faultsOf(whole, endOf(whole), { ...head, litres: 81 })).toEqual([{ kind: 'head', index: 0, position: 0 }]);
    expect(faultsOf([], endOf([]), { ...head, litres: 81 })).toEqual([{ kind: 'head', index: 0, position: 0 }]);
  });

  test('a chain written anew from some link on is found at its end', () => {
    const whole = chainOf(5);
    const anew = whole.slice(0, 2);
    for (let i = 2; i < 5; i++)
      anew.push(nextLink(i, anew.at(-1)?.hash ?? '', { id: 'x', event: {}, who: '', wallAt: '' }, sha256));
    expect(faultsOf(anew, endOf(whole))).toEqual([{ kind: 'changed', index: 4, position: 4 }]);
  });

  test('several faults at once are all told', () => {
    const whole = chainOf(8);
    const faults = faultsOf([...whole.slice(0, 1), changed(whole[1]), ...whole.slice(3, 7)], endOf(whole));
    expect(faults).toEqual([
      { kind: 'changed', index: 1, position: 1 },
      { kind: 'dropped', index: 2, count: 1, position: 2 },
      { kind: 'truncated', index: 7, count: 1, position: 7 },
    ]);
  });

  test('an absurd index is one fault, not a million', () => {
    const whole = chainOf(2);
    expect(faultsOf([...whole, forged(whole[1], { index: 2 ** 40 })])).toMatchObject([{ kind: 'dropped', index: 2 }]);
  });

  test('any rearrangement that is not the chain itself is found', () => {
    const whole = chainOf(7);
    const order = fc.shuffledSubarray([0, 1, 2, 3, 4, 5, 6]);
    fc.assert(
      fc.property(order, (picked) => {
        const links = picked.flatMap((i) => whole[i] ?? []);
        const same = links.length === 7 && links.every((link, i) => link.index === i);
        expect(verifyChain(head, links, sha256, endOf(whole)).intact).toBe(same);
      }),
    );
  });
});
