import { noCounts } from '../../../firmware-bridge/wire/link-counters.ts';
import type { RunClock } from '../../../src/run/clock.ts';
import { KitLink, type KitLinkOptions } from '../../../src/run/kit-link.ts';

/** A link on which nothing happens but what a test puts in: no counts, no problem, and every send is taken. */
export function quietLink(clock: RunClock, more: Partial<KitLinkOptions> = {}): KitLink {
  return new KitLink({
    source: 'a test',
    clock,
    counters: noCounts,
    problem: () => null,
    send: () => Promise.resolve(true),
    ...more,
  });
}
