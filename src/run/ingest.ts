import type { Decoded, Hello, Pack } from '../../firmware-bridge/wire/pack.ts';
import { type PackReader, WireReader } from '../../firmware-bridge/wire/wire-reader.ts';
import { emptySample, type Sample } from '../core/quantity/sample.ts';
import { KitPlace, type PlacedPack } from './kit-place.ts';
import type { RunTime } from './run-time.ts';

/** Where the packs of the leading kit go. */
export interface IngestSink {
  /** In the order of the run's clock. */
  sample(sample: Sample): void;
  /** A reading whose place in time has gone by, at its own time: for the record, not for the verdict. */
  late(sample: Sample): void;
  /** The kit's button; `id` is the same when the pack comes twice. `pressedS`: its own time, when that has gone by. */
  pass(id: string, pressedS: number | null): void;
  hello(kit: string, hello: Hello): void;
  /** The leading kit began anew in the midst of its packs; `boot` is its start count now. */
  restarted?(kit: string, boot: number): void;
  /** Values of a pack as they enter the run; the kit's own when left out. */
  values?(pack: Pack): Pack['values'];
  /** Every decoded line or message of the link, leading kit or not, before it is used. */
  heard?(decoded: Decoded, atS: number): void;
}

/** What became of the packs that were taken from the wire, as counts that only grow. */
export interface IngestCounters {
  samples: number;
  /** Readings that stand at their own time beside the others, because it had gone by. */
  placedLate: number;
  /** Packs that have no place in the run: made before it began, while the bridge was off, or by a start never heard live. */
  behind: number;
  /** Packs of a second kit on the same link, while the first one leads. */
  otherKit: number;
  /** Samples whose time was moved by more than 0.1 s, because the run's clock had gone on. */
  moved: number;
}

/** A kit that says nothing for so long no longer leads when one speaks that was not heard beside it (bridge seconds). */
const leadLapsesS = 10;
/**
 * After a restart of the bridge the kit of the record is waited for: so long on a cable, where another one is a kit that was
 * changed; for good at a broker, where it may be another rig's.
 */
const returnsWithinS = 60;
/** Kits of which something is remembered; the leading one always. */
const mostKits = 16;
/** A broker gives out what it had kept all at once: a kit just met is listened to for so long before its packs are placed. */
const settleS = 0.4;
/** So long packs that come late in order are looked at before it is said what they are (bridge seconds). */
const doubtS = 1;

/**
 * The hot path: bytes -> packs -> samples on the run's clock. In the same call, but for the first moment of a kit at a
 * broker. What is not used is counted. One per link.
 */
export class Ingest {
  readonly reader: PackReader;
  readonly counters: IngestCounters = { samples: 0, placedLate: 0, behind: 0, otherKit: 0, moved: 0 };
  /** Kit whose packs make the run; null before the first. */
  leading: string | null;
  /** Arrival of the newest pack of the leading kit, bridge seconds; null before the first. */
  lastPackS: number | null = null;
  /** The newest of the kits that were heard and not used. */
  private besides: { readonly kit: string; readonly atS: number } | null = null;
  private readonly kits = new Map<string, KitPlace>();
  /** Kits that spoke while another one led: they measure other water, and never take over by themselves. */
  private readonly beside = new Set<string>();
  /** Arrival of the first pack of any kit. */
  private firstS: number | null = null;
  /** Start count of each kit that led, as its newest pack in order had it. */
  private readonly boots = new Map<string, number>();
  /** Packs that came late in order, until it is known why; and why, while they go on coming late. */
  private readonly doubted: PlacedPack[] = [];
  private past: 'kept' | 'slow' | null = null;
  private readonly time: RunTime;
  private readonly sink: IngestSink;

  /** @param kit whose packs made the run before the bridge was restarted; null: nobody knows. */
  constructor(time: RunTime, sink: IngestSink, reader: PackReader = new WireReader(), kit: string | null = null) {
    this.leading = kit;
    this.time = time;
    this.sink = sink;
    this.reader = reader;
  }

  /** @param atS arrival, on the bridge's monotonic clock. */
  bytes(chunk: Uint8Array, atS: number): void {
    this.take(this.reader.push(chunk, atS), atS, 0);
  }

  /** A whole message of a broker. */
  message(topic: string, payload: Uint8Array, atS: number): void {
    this.take(this.reader.message(topic, payload, atS), atS, settleS);
  }

  /** A kit that was heard since then (bridge seconds) and is not used, because another one leads; null: none. */
  heardBesides(sinceS: number): string | null {
    return this.besides && this.besides.atS >= sinceS ? this.besides.kit : null;
  }

  private take(all: readonly Decoded[], atS: number, waitS: number): void {
    for (const decoded of all) {
      this.sink.heard?.(decoded, atS);
      if (!decoded.ok) continue;
      const kit = this.kitOf(decoded.pack.kit);
      for (const placed of kit.place(decoded.pack, atS, waitS)) this.enter(placed, waitS > 0);
      this.counters.behind += kit.takeLost();
    }
  }

  private enter(placed: PlacedPack, isShared: boolean): void {
    const { pack, atS, madeS, isInOrder } = placed;
    if (!this.leads(pack.kit, atS, isShared)) {
      this.counters.otherKit += 1;
      this.besides = { kit: pack.kit, atS };
      return;
    }
    this.lastPackS = atS;
    const wantedS = this.time.ofBridge(madeS);
    if (wantedS < this.time.startS - 1e-3) {
      this.counters.behind += 1;
      return;
    }
    if (pack.late || !isInOrder) return this.settle(placed, true);
    if (!this.time.isPast(wantedS)) {
      this.resolve('kept');
      this.past = null;
      this.settle(placed, false);
    } else if (this.past !== null) this.settle(placed, this.past === 'kept');
    else this.doubt(placed);
  }

  /**
   * Packs that come late in order were kept somewhere, or the kit's clock stood still, or the link is slower from now on.
   * What was kept catches up; the rest goes on as late as it began, and is as live as it can be.
   */
  private doubt(placed: PlacedPack): void {
    this.doubted.push(placed);
    const first = this.doubted[0] ?? placed;
    const passedS = placed.atS - first.atS;
    if (passedS < doubtS) return;
    const caughtUpS = first.atS - first.madeS - (placed.atS - placed.madeS);
    this.resolve(caughtUpS > passedS / 2 ? 'kept' : 'slow');
  }

  private resolve(past: 'kept' | 'slow'): void {
    this.past = past;
    for (const placed of this.doubted.splice(0)) this.settle(placed, past === 'kept');
  }

  private settle({ pack, madeS }: PlacedPack, isLate: boolean): void {
    const wantedS = this.time.ofBridge(madeS);
    const timeS = isLate ? Math.max(this.time.startS, Math.round(wantedS * 1000) / 1000) : this.time.next(wantedS);
    const sample = Object.assign(emptySample(timeS), this.sink.values?.(pack) ?? pack.values);
    if (isLate) {
      this.counters.placedLate += 1;
      this.sink.late(sample);
    } else {
      if (timeS - wantedS > 0.1) this.counters.moved += 1;
      this.counters.samples += 1;
      this.sink.sample(sample);
      this.noteStart(pack);
    }
    if (pack.hello) this.sink.hello(pack.kit, pack.hello);
    if (pack.pass) this.sink.pass(`kit-${pack.kit}-${pack.boot}-${pack.seq}`.slice(-64), isLate ? timeS : null);
  }

  private noteStart({ kit, boot }: Pack): void {
    const before = this.boots.get(kit);
    this.boots.set(kit, boot);
    if (before !== undefined && before !== boot) this.sink.restarted?.(kit, boot);
  }

  private kitOf(name: string): KitPlace {
    const known = this.kits.get(name);
    if (known) return known;
    const kit = new KitPlace();
    this.kits.set(name, kit);
    // Names come from the wire: whoever sends ever new ones must not fill the memory.
    for (const oldest of this.kits.keys()) {
      if (this.kits.size <= mostKits) break;
      if (oldest === this.leading) continue;
      this.kits.delete(oldest);
      this.boots.delete(oldest);
      this.beside.delete(oldest);
    }
    return kit;
  }

  /** `isShared`: other rigs may speak on this link, too. */
  private leads(name: string, atS: number, isShared: boolean): boolean {
    this.firstS ??= atS;
    if (this.leading === name) return true;
    const { lastPackS } = this;
    const isGone = !isShared && atS - this.firstS > returnsWithinS;
    const lapsed = lastPackS === null ? isGone : atS - lastPackS > leadLapsesS;
    if (this.leading !== null && !lapsed && lastPackS !== null) this.beside.add(name);
    if (this.leading !== null && (!lapsed || this.beside.has(name))) return false;
    this.leading = name;
    this.beside.clear();
    return true;
  }
}
