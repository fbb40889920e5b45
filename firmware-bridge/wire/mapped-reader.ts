import { Framer, maxPackBytes } from './frame.ts';
import { type LinkCounters, noCounts } from './link-counters.ts';
import { MappedKit } from './mapped-kit.ts';
import type { Mapping } from './mapping.ts';
import type { Decoded, Reject } from './pack.ts';
import { Refusals } from './refusals.ts';
import type { PackReader } from './wire-reader.ts';

/** Of a line that was too long nothing is kept. */
const noLine = new Uint8Array(0);

/** The reader of a kit that does not speak our wire: the same counters, the same packs at the end. */
export class MappedReader implements PackReader {
  readonly counters: LinkCounters = noCounts();
  readonly refusals = new Refusals();
  readonly #framer = new Framer();
  readonly #kit: MappedKit;
  #first = true;

  /** @param boot differs at each start of the bridge, so that no two packs of this kit have one identity. */
  constructor(mapping: Mapping, boot: number) {
    this.#kit = new MappedKit(mapping, boot);
  }

  push(chunk: Uint8Array, atS: number): Decoded[] {
    this.counters.bytes += chunk.length;
    const out: Decoded[] = [];
    for (const frame of this.#framer.push(chunk)) {
      this.counters.lines++;
      // Without a check sum nothing proves that the first line after opening is whole: half a number is a number too.
      if (this.#first) this.counters.firstPartial++;
      else if (frame.tooLong) {
        this.counters.tooLong++;
        this.#skip({ code: 'wire-too-long', params: { limit: maxPackBytes } }, noLine, out);
      } else this.#count(this.#kit.line(frame.line, atS), frame.line, out);
      this.#first = false;
    }
    return out;
  }

  message(topic: string, payload: Uint8Array, atS: number): Decoded[] {
    this.counters.bytes += payload.length;
    this.counters.lines++;
    const out: Decoded[] = [];
    if (payload.length > maxPackBytes)
      this.#skip({ code: 'wire-too-long', params: { limit: maxPackBytes } }, noLine, out);
    else for (const decoded of this.#kit.message(topic, payload, atS)) this.#count(decoded, payload, out);
    return out;
  }

  reset(): void {
    this.#framer.reset();
    this.#first = true;
  }

  #count(decoded: Decoded | null, line: Uint8Array, out: Decoded[]): void {
    if (decoded === null) return;
    if (!decoded.ok) {
      this.#skip(decoded.reject, line, out);
      return;
    }
    this.counters.packs++;
    this.refusals.clear();
    this.counters.recordsRejected += decoded.pack.rejects.length;
    out.push(decoded);
  }

  #skip(reject: Reject, line: Uint8Array, out: Decoded[]): void {
    this.counters.badLines++;
    this.refusals.add(reject, line);
    out.push({ ok: false, reject });
  }
}
