import { Aligner } from '../../firmware-bridge/clock/align.ts';
import type { Pack } from '../../firmware-bridge/wire/pack.ts';

export interface PlacedPack {
  readonly pack: Pack;
  /** Arrival and making, on the bridge's monotonic clock, seconds. */
  readonly atS: number;
  readonly madeS: number;
  /** Made after all packs of this kit that were placed before. */
  readonly isInOrder: boolean;
}

interface Waiting {
  readonly pack: Pack;
  readonly atS: number;
}

/** Ten minutes at ten a second, the least that a kit keeps. */
const mostWaiting = 6000;
/** Arriving this much sooner after its making than any before shows that those had been kept somewhere (seconds). */
const soonerS = 0.25;

/**
 * Where the packs of one kit stand in the bridge's time. A start of the kit that is met for the first time is listened
 * to first: what came was perhaps kept by a broker, and only what was not delayed tells the kit's clock.
 */
export class KitPlace {
  private readonly aligner = new Aligner();
  private waiting: Waiting[] = [];
  private offsetS = Number.POSITIVE_INFINITY;
  /** Since when no pack came much sooner after its making than those before; bridge seconds. */
  private settledFromS = 0;
  private lastMadeS = Number.NEGATIVE_INFINITY;
  private newest: Pick<Pack, 'boot' | 'seq' | 'upS'> | null = null;
  private lost = 0;

  /** @param waitS how long a new start is listened to, seconds; 0 where nothing on the way keeps packs. */
  place(pack: Pack, atS: number, waitS: number): PlacedPack[] {
    if (this.aligner.knows(pack.boot)) return [this.placeOne(pack, atS)];
    this.waiting.push({ pack, atS });
    if (this.waiting.length > mostWaiting) {
      this.waiting.shift();
      this.lost += 1;
    }
    if (pack.late) return [];
    const offsetS = atS - pack.upS;
    if (offsetS < this.offsetS - soonerS) {
      this.offsetS = offsetS;
      this.settledFromS = atS;
    }
    return atS - this.settledFromS >= waitS ? this.placeWaiting(pack.boot) : [];
  }

  /** Packs that have no place, since the last call: of a start that was never heard live, or too many. */
  takeLost(): number {
    const { lost } = this;
    this.lost = 0;
    return lost;
  }

  /** The sequence went on and `up` went back: no pack was overtaken, the kit's clock leapt. */
  private noteLeap({ boot, seq, upS }: Pack): void {
    const { newest } = this;
    if (newest && boot === newest.boot && seq > newest.seq && upS < newest.upS) this.aligner.leapt(newest.upS - upS);
    if (!newest || boot !== newest.boot || seq > newest.seq) this.newest = { boot, seq, upS };
  }

  private placeOne(pack: Pack, atS: number): PlacedPack {
    if (!pack.late) this.noteLeap(pack);
    const madeS = this.aligner.align(pack.boot, pack.upS, atS, pack.late);
    const isInOrder = madeS > this.lastMadeS;
    if (isInOrder) this.lastMadeS = madeS;
    return { pack, atS, madeS, isInOrder };
  }

  /** The one that was delayed least teaches the clock; the others stand by it. */
  private placeWaiting(boot: number): PlacedPack[] {
    const all = this.waiting.filter((w) => w.pack.boot === boot);
    this.lost += this.waiting.length - all.length;
    this.waiting = [];
    this.offsetS = Number.POSITIVE_INFINITY;
    const live = all.filter((w) => !w.pack.late);
    const best = live.reduce<Waiting | null>(
      (least, w) => (least && least.atS - least.pack.upS <= w.atS - w.pack.upS ? least : w),
      null,
    );
    if (!best) return [];
    const bestS = this.aligner.align(boot, best.pack.upS, best.atS);
    const placed = all.map(({ pack, atS }) => ({
      pack,
      atS,
      madeS: pack === best.pack ? bestS : this.aligner.align(boot, pack.upS, atS, true),
    }));
    return placed
      .sort((a, b) => a.madeS - b.madeS)
      .map((p) => {
        const isInOrder = p.madeS > this.lastMadeS;
        if (isInOrder) this.lastMadeS = p.madeS;
        return { ...p, isInOrder };
      });
  }
}
