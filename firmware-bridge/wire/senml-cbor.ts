import { decode, encode, type DecodeOptions } from 'cborg';
import { maxPackBytes } from './frame.ts';
import type { Reject } from './pack.ts';
import type { SenmlRecord } from './senml.ts';

/** Labels of RFC 8428 section 6. The table is closed: a label beyond it is a text, as in JSON. */
const labels: ReadonlyMap<number, string> = new Map([
  [-1, 'bver'],
  [-2, 'bn'],
  [-3, 'bt'],
  [-4, 'bu'],
  [-5, 'bv'],
  [-6, 'bs'],
  [0, 'n'],
  [1, 'u'],
  [2, 'v'],
  [3, 'vs'],
  [4, 'vb'],
  [5, 's'],
  [6, 't'],
  [7, 'ut'],
  [8, 'vd'],
]);
const numbers: ReadonlyMap<string, number> = new Map([...labels].map(([number, label]) => [label, number]));

const decimalFractionTag = 4;

const options: DecodeOptions = {
  useMaps: true,
  rejectDuplicateMapKeys: true,
  allowBigInt: false,
  allowUndefined: false,
  tags: { [decimalFractionTag]: (content) => decimalFraction(content()) },
};

/**
 * SenML in CBOR (RFC 8428 section 6) -> what `JSON.parse` gives for the same pack in JSON, for the same schema to judge.
 * Bounded to a pack's 1024 bytes, and so in depth and time. Numbers: integers up to 2^53, floats, decimal fractions
 * (tag 4); other tags are refused.
 */
export function cborToJson(body: Uint8Array): { readonly json: unknown } | { readonly reject: Reject } {
  if (body.length > maxPackBytes) return { reject: { code: 'wire-too-long', params: { limit: maxPackBytes } } };
  let items: unknown;
  try {
    items = decode(body, options);
  } catch (error) {
    const what = error instanceof Error ? error.message.replace('CBOR decode error: ', '') : 'not readable';
    return notCbor(body, what.slice(0, 120));
  }
  if (!Array.isArray(items)) return notCbor(body, 'not a list of records');
  const records: unknown[] = [];
  for (const item of items) {
    const record = item instanceof Map ? namedRecord(item) : item;
    if (record === null) return notCbor(body, 'a record has a label that RFC 8428 does not know, or one label twice');
    records.push(record);
  }
  return { json: records };
}

function notCbor(body: Uint8Array, what: string): { readonly reject: Reject } {
  return { reject: { code: 'wire-not-cbor', params: { bytes: body.length, what } } };
}

/** Null when a label is neither of the table nor a text, or comes both as number and as text. */
function namedRecord(record: Map<unknown, unknown>): object | null {
  const fields = new Map<string, unknown>();
  for (const [key, value] of record) {
    const label = typeof key === 'number' ? labels.get(key) : key;
    if (typeof label !== 'string' || fields.has(label)) return null;
    fields.set(label, value instanceof Uint8Array ? base64url(value) : value);
  }
  return Object.fromEntries(fields);
}

/** A mantissa and the power of ten that it is multiplied by (RFC 8949 section 3.4.4). */
function decimalFraction(content: unknown): number {
  const [exponent, mantissa]: unknown[] = Array.isArray(content) && content.length === 2 ? content : [];
  if (!Number.isInteger(exponent) || !Number.isInteger(mantissa))
    throw new Error('a decimal fraction is no pair of integers');
  return Number(`${String(mantissa)}e${String(exponent)}`);
}

const alphabet = 'ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_';

/** Bytes stand as such in CBOR and as base64url without padding in JSON (RFC 8428 section 4.3). */
function base64url(bytes: Uint8Array): string {
  let text = '';
  let bits = 0;
  let held = 0;
  for (const byte of bytes) {
    held = ((held << 8) | byte) & 0xffff;
    for (bits += 8; bits >= 6; bits -= 6) text += alphabet[(held >> (bits - 6)) & 0x3f] ?? '';
  }
  return bits > 0 ? text + (alphabet[(held << (6 - bits)) & 0x3f] ?? '') : text;
}

function fromBase64url(text: string): Uint8Array {
  const bytes: number[] = [];
  let bits = 0;
  let held = 0;
  for (const letter of text) {
    held = ((held << 6) | alphabet.indexOf(letter)) & 0xffff;
    bits += 6;
    if (bits < 8) continue;
    bits -= 8;
    bytes.push((held >> bits) & 0xff);
  }
  return Uint8Array.from(bytes);
}

/** Records -> CBOR, the shortest form of each number that gives it back exactly. The inverse of `cborToJson`. */
export function encodeCbor(pack: readonly SenmlRecord[]): Uint8Array {
  return encode(
    pack.map(
      (record) =>
        new Map<string | number, unknown>(
          Object.entries(record).map(([label, value]) => [
            numbers.get(label) ?? label,
            label === 'vd' && typeof value === 'string' ? fromBase64url(value) : value,
          ]),
        ),
    ),
  );
}
