import { decodeCbor, decodeLine, decodePack } from './decode.ts';
import { Framer, maxPackBytes } from './frame.ts';
import { Identities } from './identity.ts';
import { noCounts, type LinkCounters } from './link-counters.ts';
import { openLine, type OpenedLine } from './open-line.ts';
import type { Decoded, Reject } from './pack.ts';
import { Refusals } from './refusals.ts';
import { readTopic } from './topics.ts';

/** Reads one link. Arrival times are the bridge's seconds. */
export interface PackReader {
  readonly counters: LinkCounters;
  /** Why nothing is read, while nothing is. */
  readonly refusals: Refusals;
  push(chunk: Uint8Array, atS: number): Decoded[];
  message(topic: string, payload: Uint8Array, atS: number): Decoded[];
  reset(): void;
}

/**
 * Bytes of one link -> packs, each once. Whatever comes, it goes on: a wrong line is counted, told and skipped, and
 * memory stays bounded.
 */
export class WireReader implements PackReader {
  readonly counters: LinkCounters = noCounts();
  readonly refusals = new Refusals();
  readonly #framer = new Framer();
  readonly #identities = new Identities();
  #first = true;

  /** Packs and refusals that this chunk completed, in the order of the wire. Doubled packs are dropped and counted. */
  push(chunk: Uint8Array): Decoded[] {
    this.counters.bytes += chunk.length;
    this.counters.oddBytes += oddBytes(chunk);
    const out: Decoded[] = [];
    for (const frame of this.#framer.push(chunk)) {
      this.counters.lines++;
      if (frame.tooLong) {
        this.counters.tooLong++;
        this.#skip({ code: 'wire-too-long', params: { limit: maxPackBytes } }, noLine, out);
      } else this.#line(frame.line, out);
      this.#first = false;
    }
    return out;
  }

  /** One message of a broker: a whole pack, in JSON when it begins with `[`, else in CBOR. The topic says whose it is. */
  message(topic: string, payload: Uint8Array): Decoded[] {
    this.counters.bytes += payload.length;
    this.counters.lines++;
    this.#first = false;
    const out: Decoded[] = [];
    const decoded = decodeMessage(payload);
    const owner = readTopic(topic)?.kit;
    if (!decoded.ok) this.#skip(decoded.reject, payload, out);
    else if (owner !== undefined && owner !== decoded.pack.kit)
      this.#skip({ code: 'wire-topic', params: { found: decoded.pack.kit, expected: owner } }, payload, out);
    else this.#take(decoded, true, out);
    return out;
  }

  /** The port was opened anew: the next line may be cut, and that is no fault. What packs were seen is remembered. */
  reset(): void {
    this.#framer.reset();
    this.#first = true;
  }

  #line(line: Uint8Array, out: Decoded[]): void {
    let opened = openLine(line);
    if ('reject' in opened) {
      const behind = opened.reject.code === 'wire-crc' ? packBehindRemains(line) : null;
      this.#skip(opened.reject, line, out);
      if (behind === null) return;
      this.counters.resynchronised++;
      opened = behind;
    }
    const decoded = decodePack(opened.body);
    if (decoded.ok) this.#take(decoded, opened.assured, out);
    else this.#skip(decoded.reject, line, out);
  }

  #take(decoded: Extract<Decoded, { ok: true }>, assured: boolean, out: Decoded[]): void {
    if (!this.#identities.isNew(decoded.pack, this.counters)) return;
    this.counters.packs++;
    this.refusals.clear();
    if (!assured) this.counters.withoutCrc++;
    this.counters.recordsRejected += decoded.pack.rejects.length;
    out.push(decoded);
  }

  #skip(reject: Reject, line: Uint8Array, out: Decoded[]): void {
    if (this.#first && reject.code !== 'wire-too-long') {
      this.counters.firstPartial++;
      return;
    }
    this.counters.badLines++;
    if (reject.code === 'wire-crc') this.counters.badCrc++;
    this.refusals.add(reject, line);
    out.push({ ok: false, reject });
  }
}

const opening = 0x5b;
/** Of a line that was too long nothing is kept. */
const noLine = new Uint8Array(0);

function decodeMessage(payload: Uint8Array): Decoded {
  let end = payload.length;
  while (end > 0 && (payload[end - 1] === 0x0a || payload[end - 1] === 0x0d)) end--;
  return payload[0] === opening ? decodeLine(payload.subarray(0, end)) : decodeCbor(payload);
}

/** More beginnings than this in one line are noise. */
const mostBeginnings = 8;

/**
 * A kit that restarts in the middle of a line leaves remains with a good pack behind them (its first, with its hello).
 * The check sum proves where that pack begins; without one nothing is guessed.
 */
function packBehindRemains(line: Uint8Array): Extract<OpenedLine, { body: Uint8Array }> | null {
  let at = line.length;
  for (let tried = 0; tried < mostBeginnings; tried++) {
    at = at > 0 ? line.lastIndexOf(opening, at - 1) : -1;
    if (at <= 0) return null;
    const opened = openLine(line.subarray(at));
    if ('body' in opened && opened.assured) return opened;
  }
  return null;
}

/** Bytes that plain text does not hold: control characters but TAB, LF and CR, and all from DEL on. */
function oddBytes(chunk: Uint8Array): number {
  let odd = 0;
  for (let i = 0; i < chunk.length; i++) {
    const byte = chunk[i] ?? 0;
    if (byte > 0x7e || (byte < 0x20 && byte !== 0x0a && byte !== 0x0d && byte !== 0x09)) odd++;
  }
  return odd;
}
