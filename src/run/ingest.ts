import { Aligner } from '../../firmware-bridge/clock/align.ts';
import type { Decoded, Hello, Pack } from '../../firmware-bridge/wire/pack.ts';
import { type PackReader, WireReader } from '../../firmware-bridge/wire/wire-reader.ts';
import { emptySample, type Sample } from '../core/quantity/sample.ts';
import type { RunTime } from './run-time.ts';

/** Where the packs of the leading kit go, in the order of the run's clock. */
export interface IngestSink {
  sample(sample: Sample): void;
  /** The kit's button; `id` is the same when the pack comes twice. */
  pass(id: string, timeS: number): void;
  hello(kit: string, hello: Hello): void;
  /** Values of a pack as they enter the run; the kit's own when left out. */
  values?(pack: Pack): Pack['values'];
  /** Every decoded line or message of the link, leading kit or not, before it is used. */
  heard?(decoded: Decoded, atS: number): void;
}

/** What was taken from the wire and yet is not in the run, as counts that only grow. */
export interface IngestCounters {
  samples: number;
  /** Packs made before the newest sample: their place in the run has gone by. */
  behind: number;
  /** Packs of a second kit on the same link, while the first one leads. */
  otherKit: number;
  /** Samples whose time was moved by more than 0.1 s, because the run's clock had gone on. */
  moved: number;
}

interface KitState {
  readonly aligner: Aligner;
  lastMadeS: number;
  lastArrivalS: number;
}

/** A kit that says nothing for so long no longer leads when another one speaks (bridge seconds). */
const leadLapsesS = 10;

/**
 * The hot path: bytes -> packs -> samples on the run's clock, in the same call, so that nothing queues here. What is
 * not used is counted. One per link.
 */
export class Ingest {
  readonly reader: PackReader;
  readonly counters: IngestCounters = { samples: 0, behind: 0, otherKit: 0, moved: 0 };
  /** Kit whose packs make the run; null before the first. */
  leading: string | null = null;
  /** Arrival of the newest pack of the leading kit, bridge seconds; null before the first. */
  lastPackS: number | null = null;
  private readonly kits = new Map<string, KitState>();
  private readonly time: RunTime;
  private readonly sink: IngestSink;

  constructor(time: RunTime, sink: IngestSink, reader: PackReader = new WireReader()) {
    this.time = time;
    this.sink = sink;
    this.reader = reader;
  }

  /** @param atS arrival, on the bridge's monotonic clock. */
  bytes(chunk: Uint8Array, atS: number): void {
    this.take(this.reader.push(chunk, atS), atS);
  }

  /** A whole message of a broker. */
  message(topic: string, payload: Uint8Array, atS: number): void {
    this.take(this.reader.message(topic, payload, atS), atS);
  }

  private take(all: readonly Decoded[], atS: number): void {
    for (const decoded of all) {
      this.sink.heard?.(decoded, atS);
      if (decoded.ok) this.pack(decoded.pack, atS);
    }
  }

  private pack(pack: Pack, atS: number): void {
    const kit = this.kitOf(pack.kit);
    const madeS = kit.aligner.align(pack.boot, pack.upS, atS, pack.late);
    if (!this.leads(pack.kit, atS)) {
      this.counters.otherKit += 1;
      kit.lastArrivalS = atS;
      return;
    }
    kit.lastArrivalS = atS;
    this.lastPackS = atS;
    if (madeS <= kit.lastMadeS) {
      this.counters.behind += 1;
      return;
    }
    kit.lastMadeS = madeS;
    const wantedS = this.time.ofBridge(madeS);
    const timeS = this.time.next(wantedS);
    if (timeS - wantedS > 0.1) this.counters.moved += 1;
    this.counters.samples += 1;
    this.sink.sample(Object.assign(emptySample(timeS), this.sink.values?.(pack) ?? pack.values));
    if (pack.hello) this.sink.hello(pack.kit, pack.hello);
    if (pack.pass) this.sink.pass(`kit-${pack.kit}-${pack.boot}-${pack.seq}`.slice(-64), timeS);
  }

  private kitOf(name: string): KitState {
    const known = this.kits.get(name);
    if (known) return known;
    const kit = {
      aligner: new Aligner(),
      lastMadeS: Number.NEGATIVE_INFINITY,
      lastArrivalS: Number.NEGATIVE_INFINITY,
    };
    this.kits.set(name, kit);
    return kit;
  }

  private leads(name: string, atS: number): boolean {
    if (this.leading === name) return true;
    const lapsed = this.leading === null || atS - (this.lastPackS ?? atS) > leadLapsesS;
    if (lapsed) this.leading = name;
    return lapsed;
  }
}
