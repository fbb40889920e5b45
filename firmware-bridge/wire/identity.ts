import type { LinkCounters } from './link-counters.ts';
import type { Pack } from './pack.ts';
import { type Place, Sequence } from './sequence.ts';

/** `up` may come this much out of order over a broker before a start of the kit is the likelier cause. */
const reorderS = 5;
/** No kit sends faster; a leap of the sequence that would need more is no loss but a number gone wrong. */
const mostRateHz = 1000;
const mostBoots = 4;
const mostKits = 16;

/**
 * Tells by (kit, boot, seq) whether a pack is new, and counts doubled, missing, late and disordered ones and the kit's
 * starts. For kits that do not keep `boot`, a start is also seen by `up` going back. Memory is bounded: the newest 16
 * kits, 4 starts each.
 */
export class Identities {
  readonly #kits = new Map<string, KitStarts>();

  /** True when the pack is new; false when it was there before. */
  isNew(pack: Pack, counters: LinkCounters): boolean {
    let starts = this.#kits.get(pack.kit);
    if (!starts) {
      starts = new KitStarts(pack.boot);
      this.#kits.set(pack.kit, starts);
      dropOldest(this.#kits, mostKits);
    }
    return starts.isNew(pack, counters);
  }
}

function dropOldest<K, V>(map: Map<K, V>, most: number): void {
  for (const key of map.keys()) {
    if (map.size <= most) return;
    map.delete(key);
  }
}

class KitStarts {
  readonly #byBoot = new Map<number, Sequence>();
  #boot: number;

  constructor(boot: number) {
    this.#boot = boot;
  }

  isNew(pack: Pack, counters: LinkCounters): boolean {
    const known = this.#byBoot.get(pack.boot);
    const place: Place = known?.place(pack.seq) ?? { kind: 'next' };
    if (!pack.late && this.#startedAnew(pack, known, place, counters)) {
      this.#begin(pack);
      return true;
    }
    if (place.kind === 'seen') {
      counters.duplicates++;
      return false;
    }
    if (pack.late) counters.late++;
    if (place.kind === 'gap') {
      counters.gaps++;
      counters.missing += place.missing;
    } else if (place.kind !== 'next') {
      if (!pack.late) counters.outOfOrder++;
      if (place.kind === 'fills') counters.missing--;
    }
    (known ?? this.#sequence(pack.boot)).add(pack.seq, pack.upS);
    return true;
  }

  /** Has the kit (or its sequence) begun again with this pack? Counts which of the two. */
  #startedAnew(pack: Pack, known: Sequence | undefined, place: Place, counters: LinkCounters): boolean {
    if (pack.boot !== this.#boot) {
      if (known && (place.kind === 'seen' || place.kind === 'fills')) return false;
      counters.restarts++;
      return true;
    }
    if (!known || place.kind === 'next' || place.kind === 'fills') return false;
    if (place.kind === 'gap' && place.missing > mostRateHz * Math.max(pack.upS - known.highestUpS, 1)) {
      counters.sequenceWraps++;
      return true;
    }
    const twinUp = place.kind === 'seen' ? known.upOf(pack.seq) : null;
    if (twinUp === pack.upS) return false;
    const back = known.highestUpS - pack.upS;
    if (back > reorderS || (twinUp !== null && back > 0)) {
      counters.restarts++;
      return true;
    }
    if (place.kind === 'gap' || back > 0) return false;
    counters.sequenceWraps++;
    return true;
  }

  #begin(pack: Pack): void {
    this.#boot = pack.boot;
    this.#byBoot.delete(pack.boot);
    this.#sequence(pack.boot).add(pack.seq, pack.upS);
  }

  #sequence(boot: number): Sequence {
    const sequence = new Sequence();
    this.#byBoot.set(boot, sequence);
    dropOldest(this.#byBoot, mostBoots);
    return sequence;
  }
}
