import { say } from '../../src/core/message/message.ts';
import type { Reject } from './pack.ts';

/** As much of a line as a sentence bears. */
const mostShown = 60;
/** Sentences hold figures of their line, so they are counted by code; a link has few of those. */
const mostCodes = 50;

/** What was refused since the last good pack, so that whoever finds no pack can say why. */
export class Refusals {
  readonly #byCode = new Map<string, { newest: Reject; count: number }>();
  #line: Uint8Array | null = null;

  add(reject: Reject, line: Uint8Array): void {
    // The buffer behind it is written over by the next line.
    this.#line = line.slice(0, mostShown + 1);
    const known = this.#byCode.get(reject.code);
    if (known) {
      known.newest = reject;
      known.count += 1;
    } else if (this.#byCode.size < mostCodes) this.#byCode.set(reject.code, { newest: reject, count: 1 });
  }

  clear(): void {
    if (this.#line === null) return;
    this.#byCode.clear();
    this.#line = null;
  }

  /** The refusal that came most often, as a sentence too, and the newest line, cut and printable; null: none came. */
  worst(): { readonly of: Reject; readonly params: { readonly why: string; readonly line: string } } | null {
    const [worst] = [...this.#byCode.values()].toSorted((a, b) => b.count - a.count);
    if (!worst || !this.#line) return null;
    return { of: worst.newest, params: { why: say(worst.newest), line: shownLine(this.#line) } };
  }
}

/** The beginning of a line for people: what is no plain text as a dot, so that noise cannot spoil a terminal or a page. */
export function shownLine(line: Uint8Array): string {
  const text = Array.from(line.subarray(0, mostShown), (byte) =>
    byte >= 0x20 && byte <= 0x7e ? String.fromCharCode(byte) : '·',
  ).join('');
  return line.length > mostShown ? `${text}…` : text;
}
