import { channelByName, type Channel } from '../../src/core/quantity/channels.ts';
import type { Hello, Reject } from './pack.ts';
import type { ResolvedRecord } from './senml.ts';

type Edge = 'lo' | 'hi' | 'step';

/** Ten digits: takes off the dust of a unit conversion, and no sensor is finer. */
function clean(value: number): number {
  return Number(value.toPrecision(10));
}

/** Unit of a measured channel as sent -> factor to our unit, or why not. */
export function channelFactor(channel: Channel, name: string, unit: string | null): number | Reject {
  const factor = unit === null ? undefined : channel.senmlUnits[unit];
  if (factor !== undefined && Object.hasOwn(channel.senmlUnits, unit ?? '')) return factor;
  const expected = Object.keys(channel.senmlUnits).join(' or ');
  return { code: 'wire-unit', params: { channel: name, found: unit ?? 'none', expected } };
}

/** Gathers the records with which a kit tells of itself: `hello`, `rate`, `lo-`, `hi-` and `step-<channel>`. */
export class HelloReader {
  #firmware: string | null = null;
  #rateHz: number | null = null;
  readonly #channels: Record<string, { lo?: number; hi?: number; step?: number }> = {};
  #first: string | null = null;

  /** True when the record was one of a hello; a remark on it, if any, goes to `rejects`. */
  take(name: string, record: ResolvedRecord, rejects: Reject[]): boolean {
    if (name === 'hello') {
      if (record.vs === undefined || record.vs.length > 64)
        rejects.push({ code: 'wire-type', params: { channel: name, expected: 'vs, a text of at most 64 letters' } });
      else this.#firmware = record.vs;
      return true;
    }
    if (name === 'rate') {
      this.#first ??= name;
      if (record.v === undefined || record.v <= 0 || record.v > 1000 || record.u !== '1/s')
        rejects.push({ code: 'wire-type', params: { channel: name, expected: 'v, over 0 and up to 1000, unit 1/s' } });
      else this.#rateHz = record.v;
      return true;
    }
    const edge = edgeOf(name);
    if (edge === null) return false;
    this.#first ??= name;
    this.#edge(edge, name, record, rejects);
    return true;
  }

  #edge(edge: Edge, name: string, record: ResolvedRecord, rejects: Reject[]): void {
    const channel = channelByName(name.slice(edge.length + 1));
    if (!channel) {
      rejects.push({ code: 'wire-channel', params: { channel: name } });
      return;
    }
    const factor = channelFactor(channel, name, record.u);
    if (typeof factor !== 'number') rejects.push(factor);
    else if (record.v === undefined) rejects.push({ code: 'wire-number', params: { channel: name } });
    else (this.#channels[channel.name] ??= {})[edge] = clean(record.v * factor);
  }

  /** The hello of this pack, or null. Ranges without a `hello` are remarked on: nobody would know whose they are. */
  finish(rejects: Reject[]): Hello | null {
    if (this.#firmware !== null) return { firmware: this.#firmware, rateHz: this.#rateHz, channels: this.#channels };
    if (this.#first !== null) rejects.push({ code: 'wire-hello-alone', params: { channel: this.#first } });
    return null;
  }
}

function edgeOf(name: string): Edge | null {
  if (name.startsWith('lo-')) return 'lo';
  if (name.startsWith('hi-')) return 'hi';
  return name.startsWith('step-') ? 'step' : null;
}
