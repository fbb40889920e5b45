import { channels } from '../core/quantity/channels.ts';
import { emptySample, type Sample } from '../core/quantity/sample.ts';

/**
 * Samples as bytes, column after column. First the names of the columns that hold anything, as in the header of a
 * recording (`time_s,turbidity_ntu,...`) and a line feed; then each column in that order, all its values as IEEE 754
 * doubles, little end first. A missing value is the quiet NaN 0x7FF8000000000000. So a value comes out bit for bit as
 * it went in, and the bytes (and their SHA-256) can be made again from recording.csv alone.
 */
const columnOf = new Map(channels.map((c) => [c.column, c.key]));

/** Bytes of at least one sample. Values must be finite or null. */
export function encodeChunk(samples: readonly Sample[]): Uint8Array {
  const used = channels.filter((c) => samples.some((s) => s[c.key] !== null));
  const header = `${['time_s', ...used.map((c) => c.column)].join(',')}\n`;
  const bytes = new Uint8Array(header.length + samples.length * 8 * (used.length + 1));
  for (let i = 0; i < header.length; i++) bytes[i] = header.charCodeAt(i);
  const view = new DataView(bytes.buffer);
  let at = header.length;
  for (const sample of samples) {
    view.setFloat64(at, sample.timeS, true);
    at += 8;
  }
  for (const { key } of used) {
    for (const sample of samples) {
      const value = sample[key];
      if (value === null) view.setUint32(at + 4, 0x7ff80000, true);
      else view.setFloat64(at, value, true);
      at += 8;
    }
  }
  return bytes;
}

/** The samples again. Throws RangeError when the bytes are no chunk: nobody keeps a time or a value that is no number. */
export function decodeChunk(bytes: Uint8Array): Sample[] {
  const headerEnd = bytes.indexOf(10);
  if (headerEnd < 0) throw new RangeError('a chunk without a header');
  const [time, ...columns] = String.fromCharCode(...bytes.subarray(0, headerEnd)).split(',');
  const body = bytes.length - headerEnd - 1;
  const count = body / 8 / (columns.length + 1);
  if (time !== 'time_s' || !Number.isInteger(count)) throw new RangeError('a chunk of a wrong size');
  const view = new DataView(bytes.buffer, bytes.byteOffset + headerEnd + 1, body);
  const samples = Array.from({ length: count }, (_, i) => emptySample(view.getFloat64(i * 8, true)));
  if (!samples.every((s) => Number.isFinite(s.timeS))) throw new RangeError('a chunk with a time that is no number');
  for (const [c, column] of columns.entries()) {
    const key = columnOf.get(column);
    if (!key) throw new RangeError(`a chunk with an unknown column ${column}`);
    let at = (c + 1) * count * 8;
    for (const sample of samples) {
      const value = view.getFloat64(at, true);
      if (Math.abs(value) === Number.POSITIVE_INFINITY) throw new RangeError('a chunk with a value that is no number');
      if (value === value) sample[key] = value;
      at += 8;
    }
  }
  return samples;
}
