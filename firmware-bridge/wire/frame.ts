/** A pack is at most this many bytes; `*` with its four digits and the line end come on top. */
export const maxPackBytes = 1024;
/** Pack, `*` and four hex digits, CR. */
const maxLineBytes = maxPackBytes + 6;

const lf = 0x0a;
const cr = 0x0d;

/** One line without its end, or the news that one was longer than a line may be (its bytes are not kept). */
export type Frame = { readonly tooLong: false; readonly line: Uint8Array } | { readonly tooLong: true };

/**
 * Bytes in any split -> lines ended by LF or CR LF. Memory is bounded by one line whatever comes: of a longer line the
 * bytes are let go, and the next LF is where lines begin again. Empty lines are dropped.
 *
 * The lines of `push` may lie inside the given chunk: use them before its owner writes to it again.
 */
export class Framer {
  readonly #kept = new Uint8Array(maxLineBytes);
  #length = 0;
  #overlong = false;

  /** Forget what was begun: the bytes that follow belong to a line that was not seen from its start. */
  reset(): void {
    this.#length = 0;
    this.#overlong = false;
  }

  push(chunk: Uint8Array): Frame[] {
    const frames: Frame[] = [];
    let from = 0;
    for (;;) {
      const end = chunk.indexOf(lf, from);
      if (end < 0) break;
      this.#finish(chunk, from, end, frames);
      from = end + 1;
    }
    this.#keep(chunk, from);
    return frames;
  }

  #finish(chunk: Uint8Array, from: number, end: number, frames: Frame[]): void {
    let line: Uint8Array | null = null;
    if (!this.#overlong) {
      if (this.#length === 0) line = chunk.subarray(from, end);
      else if (this.#length + end - from <= maxLineBytes) {
        this.#kept.set(chunk.subarray(from, end), this.#length);
        line = this.#kept.slice(0, this.#length + end - from);
      }
    }
    this.reset();
    if (line === null || line.length > maxLineBytes) {
      frames.push({ tooLong: true });
      return;
    }
    if (line[line.length - 1] === cr) line = line.subarray(0, line.length - 1);
    if (line.length > 0) frames.push({ tooLong: false, line });
  }

  #keep(chunk: Uint8Array, from: number): void {
    const more = chunk.length - from;
    if (this.#overlong || more === 0) return;
    if (this.#length + more > maxLineBytes) {
      this.#overlong = true;
      return;
    }
    this.#kept.set(chunk.subarray(from), this.#length);
    this.#length += more;
  }
}
