const powers = Float64Array.from({ length: 16 }, (_, i) => 10 ** i);

/** A line of a file: its first byte, and the one after its last. */
interface Bytes {
  readonly bytes: Uint8Array;
  readonly from: number;
  readonly to: number;
}

/**
 * The numbers of one line of plain decimals, straight from its bytes: an eight-hour recording has millions. Fills
 * `out` (NaN for an empty cell) and returns how many cells there were, or -1 for a line that holds anything else
 * (blanks, quotes, exponents, words, more than 15 digits), which the caller reads at leisure.
 *
 * Exact: up to 15 digits an integer and its power of ten are both exact doubles, and IEEE 754 rounds their quotient
 * correctly, as Number() does (Clinger, How to read floating point numbers accurately, 1990).
 */
export function readPlainNumbers({ bytes, from, to }: Bytes, separator: number, out: Float64Array): number {
  let at = from;
  let cell = 0;
  for (;;) {
    if (cell === out.length) return -1;
    const negative = at < to && bytes[at] === 45;
    if (negative) at += 1;
    let mantissa = 0;
    let digits = 0;
    let fraction = -1;
    let code = 0;
    for (; at < to; at += 1) {
      code = bytes[at] ?? 0;
      if (code >= 48 && code <= 57) {
        mantissa = mantissa * 10 + (code - 48);
        digits += 1;
        if (fraction >= 0) fraction += 1;
      } else if (code === 46 && fraction < 0) fraction = 0;
      else break;
    }
    const ended = at >= to;
    if ((!ended && code !== separator) || digits > 15) return -1;
    if (digits === 0) {
      if (negative || fraction >= 0) return -1;
      out[cell] = Number.NaN;
    } else {
      const value = fraction > 0 ? mantissa / (powers[fraction] ?? Number.NaN) : mantissa;
      out[cell] = negative ? -value : value;
    }
    cell += 1;
    if (ended) return cell;
    at += 1;
  }
}
