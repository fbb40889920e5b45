import { Framer, maxPackBytes } from './frame.ts';
import { type LinkCounters, noCounts } from './link-counters.ts';
import { MappedKit } from './mapped-kit.ts';
import type { Mapping } from './mapping.ts';
import type { Decoded, Reject } from './pack.ts';
import type { PackReader } from './wire-reader.ts';

/** The reader of a kit that does not speak our wire: the same counters, the same packs at the end. */
export class MappedReader implements PackReader {
  readonly counters: LinkCounters = noCounts();
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
        this.#skip({ code: 'wire-too-long', params: { limit: maxPackBytes } }, out);
      } else this.#count(this.#kit.line(frame.line, atS), out);
      this.#first = false;
    }
    return out;
  }

  message(topic: string, payload: Uint8Array, atS: number): Decoded[] {
    this.counters.bytes += payload.length;
    this.counters.lines++;
    const out: Decoded[] = [];
    if (payload.length > maxPackBytes) this.#skip({ code: 'wire-too-long', params: { limit: maxPackBytes } }, out);
    else for (const decoded of this.#kit.message(topic, payload, atS)) this.#count(decoded, out);
    return out;
  }

  reset(): void {
    this.#framer.reset();
    this.#first = true;
  }

  #count(decoded: Decoded | null, out: Decoded[]): void {
    if (decoded === null) return;
    if (!decoded.ok) {
      this.#skip(decoded.reject, out);
      return;
    }
    this.counters.packs++;
    this.counters.recordsRejected += decoded.pack.rejects.length;
    out.push(decoded);
  }

  #skip(reject: Reject, out: Decoded[]): void {
    this.counters.badLines++;
    out.push({ ok: false, reject });
  }
}
