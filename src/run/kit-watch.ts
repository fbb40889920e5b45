import type { Decoded, Hello, Pack, Reject } from '../../firmware-bridge/wire/pack.ts';
import { type ChannelName, channels } from '../core/quantity/channels.ts';

/** The newest of one channel, and when it came (bridge seconds). */
export interface HeardValue {
  readonly value: number;
  readonly atS: number;
}

/** What was heard of one kit. */
export interface HeardKit {
  readonly kit: string;
  hello: Hello | null;
  lastPack: Pack;
  lastAtS: number;
  packs: number;
  readonly values: Map<ChannelName, HeardValue>;
  readonly raw: Map<string, HeardValue>;
}

export type KitListener = (decoded: Decoded, atS: number) => void;
const mostKits = 16;

/** Everything that is heard on a link, by kit; the bench, the commands and the check listen here. */
export class KitWatch {
  readonly kits = new Map<string, HeardKit>();
  lastReject: Reject | null = null;
  private readonly listeners = new Set<KitListener>();

  take(decoded: Decoded, atS: number): void {
    if (decoded.ok) this.pack(decoded.pack, atS);
    else this.lastReject = decoded.reject;
    for (const listener of this.listeners) listener(decoded, atS);
  }

  listen(listener: KitListener): () => void {
    this.listeners.add(listener);
    return () => this.listeners.delete(listener);
  }

  private pack(pack: Pack, atS: number): void {
    let kit = this.kits.get(pack.kit);
    if (!kit) {
      kit = { kit: pack.kit, hello: null, lastPack: pack, lastAtS: atS, packs: 0, values: new Map(), raw: new Map() };
      this.kits.set(pack.kit, kit);
      for (const name of this.kits.keys()) if (this.kits.size > mostKits) this.kits.delete(name);
    }
    if (pack.late) return;
    kit.lastPack = pack;
    kit.lastAtS = atS;
    kit.packs += 1;
    if (pack.hello) kit.hello = pack.hello;
    for (const { name, key } of channels) {
      const value = pack.values[key];
      if (value !== undefined) kit.values.set(name, { value, atS });
    }
    for (const [name, value] of Object.entries(pack.raw)) kit.raw.set(name, { value, atS });
  }
}
