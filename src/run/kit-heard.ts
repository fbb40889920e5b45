import { Aligner } from '../../firmware-bridge/clock/align.ts';
import type { CommandEnd } from '../../firmware-bridge/wire/command.ts';
import type { LinkCounters } from '../../firmware-bridge/wire/link-counters.ts';
import type { Decoded, Hello, Pack, Reject } from '../../firmware-bridge/wire/pack.ts';
import { say } from '../core/message/message.ts';
import { type ChannelName, channels } from '../core/quantity/channels.ts';

/** What a person is asked to do during a check, so that each wire shows where it goes. */
export type Hand = 'supply' | 'turbidity';

/** What was gathered of one kit during a check; graded at the end. Seconds of the bridge, unless `up` is named. */
export class KitHeard {
  readonly kit: string;
  hello: Hello | null = null;
  /** Answers to commands, by what was asked. */
  readonly ends = new Map<string, { end: CommandEnd; tookS: number }>();
  /** A word that no kit knows was answered by `refused`. */
  strangeRefused: string | null = null;
  strangeAsked = false;
  readonly series = new Map<ChannelName, number[]>();
  private readonly hands = new Map<
    Hand,
    { from: ReadonlyMap<ChannelName, number>; to: ReadonlyMap<ChannelName, number> }
  >();
  private readonly before: LinkCounters;
  readonly aligner = new Aligner();
  readonly intervalsS: number[] = [];
  readonly arrivalsS: number[] = [];
  /** Lines that were not used, and single records of good ones. */
  private readonly lines = new Map<string, Refused>();
  private readonly records = new Map<string, Refused>();
  private last: { pack: Pack; atS: number } | null = null;
  packs = 0;
  upS = 0;
  restarts = 0;
  /** A restart in the middle of a line tears it; that is no fault of the firmware. */
  torn = { lines: 0, crc: 0 };
  private beforeIt: Reject | null = null;
  helloAfterRestart = false;
  bootRose = true;
  awayS = 0;

  constructor(kit: string, counters: LinkCounters) {
    this.kit = kit;
    this.before = { ...counters };
  }

  /** A person is asked for this now; the returned function says that the time for it is over. */
  hand(which: Hand): () => void {
    const lengths = (): Map<ChannelName, number> =>
      new Map([...this.series].map(([name, values]) => [name, values.length]));
    const from = lengths();
    return () => this.hands.set(which, { from, to: lengths() });
  }

  /** Readings of the channel before and up to the end of the hand's time; 0: it was never asked for. */
  handFrom(which: Hand, name: ChannelName): number {
    return this.hands.get(which)?.from.get(name) ?? 0;
  }

  handTo(which: Hand, name: ChannelName): number {
    return this.hands.get(which)?.to.get(name) ?? 0;
  }

  take(decoded: Decoded, atS: number): void {
    if (!decoded.ok) {
      this.beforeIt = decoded.reject;
      tally(this.lines, decoded.reject);
      return;
    }
    const { pack } = decoded;
    if (pack.kit !== this.kit || pack.late) return;
    this.packs += 1;
    for (const reject of pack.rejects) tally(this.records, reject);
    if (pack.hello) this.hello = pack.hello;
    if (pack.refused !== null && this.strangeAsked) this.strangeRefused ??= pack.refused;
    for (const { name, key } of channels) {
      const value = pack.values[key];
      if (value === undefined) continue;
      const list = this.series.get(name) ?? [];
      list.push(value);
      this.series.set(name, list);
    }
    this.aligner.align(pack.boot, pack.upS, atS);
    this.follow(pack, atS);
    this.last = { pack, atS };
    this.beforeIt = null;
  }

  private follow(pack: Pack, atS: number): void {
    const { last } = this;
    if (!last) return;
    const restarted = pack.boot !== last.pack.boot || pack.upS < last.pack.upS;
    if (restarted) {
      this.restarts += 1;
      if (this.beforeIt) this.torn.lines += 1;
      if (this.beforeIt?.code === 'wire-crc') this.torn.crc += 1;
      this.bootRose &&= pack.boot > last.pack.boot;
      this.awayS = Math.max(this.awayS, atS - last.atS);
      this.helloAfterRestart = pack.hello !== null;
      return;
    }
    if (this.restarts > 0 && pack.hello && pack.seq < 20) this.helloAfterRestart = true;
    if (pack.seq !== last.pack.seq + 1) return;
    this.intervalsS.push(pack.upS - last.pack.upS);
    this.arrivalsS.push(atS - last.atS);
    this.upS += pack.upS - last.pack.upS;
  }

  /** How much a counter of the link has grown since the check began. */
  grown(counters: LinkCounters, key: keyof LinkCounters): number {
    return counters[key] - this.before[key];
  }

  /** Why lines were not used most often, as a sentence; '' when all were. */
  get worstLine(): string {
    return inOrder(this.lines)[0] ?? '';
  }

  /** Why single records were not used, the most frequent reason first, each as a sentence. */
  get refusedRecords(): readonly string[] {
    return inOrder(this.records);
  }

  /** Why nothing of this channel was used although it is sent; null: nothing of it was refused. */
  refusedOf(name: ChannelName): string | null {
    const own = [...this.records].filter(([, { newest }]) => newest.params['channel'] === name);
    return inOrder(new Map(own))[0] ?? null;
  }
}

interface Refused {
  newest: Reject;
  count: number;
}

/** A kit can make up new reasons for ever. */
const mostReasons = 50;

/** By what is wrong with which channel: the figures differ from one to the next. */
function tally(refused: Map<string, Refused>, reject: Reject): void {
  const key = `${reject.code} ${reject.params['channel'] ?? ''}`;
  const known = refused.get(key);
  if (known) {
    known.newest = reject;
    known.count += 1;
  } else if (refused.size < mostReasons) refused.set(key, { newest: reject, count: 1 });
}

function inOrder(refused: ReadonlyMap<string, Refused>): string[] {
  return [...refused.values()].toSorted((a, b) => b.count - a.count).map(({ newest }) => say(newest));
}
