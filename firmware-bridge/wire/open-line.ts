import { crc16, crcDigits, readCrcDigits } from './crc16.ts';
import { maxPackBytes } from './frame.ts';
import type { Reject } from './pack.ts';

const star = 0x2a;
const closing = 0x5d;

/** The pack of a line; `assured` when a check sum stood behind it and matched. */
export type OpenedLine = { readonly body: Uint8Array; readonly assured: boolean } | { readonly reject: Reject };

/** Take the check sum off a line, if it has one, and prove it over the bytes before the last `*`. */
export function openLine(line: Uint8Array): OpenedLine {
  const at = line[line.length - 1] === closing ? -1 : line.lastIndexOf(star);
  const found = at === line.length - 5 ? readCrcDigits(line, at + 1) : null;
  if (found === null) {
    if (at > 0 && line[at - 1] === closing)
      return { reject: { code: 'wire-crc-form', params: { bytes: line.length - at - 1 } } };
    return within(line, false);
  }
  const expected = crc16(line, 0, at);
  if (found !== expected)
    return { reject: { code: 'wire-crc', params: { found: crcDigits(found), expected: crcDigits(expected) } } };
  return within(line.subarray(0, at), true);
}

function within(body: Uint8Array, assured: boolean): OpenedLine {
  if (body.length > maxPackBytes) return { reject: { code: 'wire-too-long', params: { limit: maxPackBytes } } };
  return { body, assured };
}
