import { noCounts, type LinkCounters } from './link-counters.ts';
import type { Decoded } from './pack.ts';

/** Bytes of one link -> packs, each once. */
export class WireReader {
  readonly counters: LinkCounters = noCounts();

  /** Packs and refusals that this chunk completed, in the order of the wire. Doubled packs are dropped and counted. */
  push(_chunk: Uint8Array): Decoded[] {
    return [];
  }

  /** The port was opened anew: the next line may be cut, and that is no fault. */
  reset(): void {}
}
