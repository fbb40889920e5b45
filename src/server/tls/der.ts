/** Just enough of DER (ITU-T X.690) to write a certificate: tag, length, content. */

function lengthOf(size: number): Buffer {
  if (size < 128) return Buffer.from([size]);
  const bytes: number[] = [];
  for (let rest = size; rest > 0; rest = Math.floor(rest / 256)) bytes.unshift(rest % 256);
  return Buffer.from([0x80 | bytes.length, ...bytes]);
}

export function tagged(tag: number, ...parts: readonly Uint8Array[]): Buffer {
  const content = Buffer.concat(parts);
  return Buffer.concat([Buffer.from([tag]), lengthOf(content.length), content]);
}

export const sequence = (...parts: readonly Uint8Array[]): Buffer => tagged(0x30, ...parts);
export const set = (...parts: readonly Uint8Array[]): Buffer => tagged(0x31, ...parts);
export const octets = (content: Uint8Array): Buffer => tagged(0x04, content);
export const utf8 = (text: string): Buffer => tagged(0x0c, Buffer.from(text, 'utf8'));
export const yes = Buffer.from([0x01, 0x01, 0xff]);

/** A context-specific tag; `constructed` holds further values, otherwise its content stands bare. */
export const context = (n: number, content: Uint8Array, constructed: boolean): Buffer =>
  tagged((constructed ? 0xa0 : 0x80) | n, content);

/** A whole number, not negative, from its bytes. */
export function integer(bytes: Uint8Array): Buffer {
  let from = 0;
  while (from < bytes.length - 1 && bytes[from] === 0) from += 1;
  const rest = bytes.subarray(from);
  // The highest bit is the sign.
  return (rest[0] ?? 0) >= 0x80 ? tagged(0x02, Buffer.from([0]), rest) : tagged(0x02, rest);
}

/** @param unused Bits of the last byte that do not count. */
export const bits = (content: Uint8Array, unused = 0): Buffer => tagged(0x03, Buffer.from([unused]), content);

export function oid(dotted: string): Buffer {
  const [first = 0, second = 0, ...rest] = dotted.split('.').map(Number);
  const bytes: number[] = [];
  for (const arc of [first * 40 + second, ...rest]) {
    const sevens = [arc & 0x7f];
    for (let high = Math.floor(arc / 128); high > 0; high = Math.floor(high / 128))
      sevens.unshift(0x80 | (high & 0x7f));
    bytes.push(...sevens);
  }
  return tagged(0x06, Buffer.from(bytes));
}

/** UTCTime until 2049, GeneralizedTime after (RFC 5280, 4.1.2.5). */
export function time(atMs: number): Buffer {
  const digits = new Date(atMs).toISOString().replace(/[-:T]/g, '').slice(0, 14);
  const isLate = Number(digits.slice(0, 4)) >= 2050;
  return isLate ? tagged(0x18, Buffer.from(`${digits}Z`)) : tagged(0x17, Buffer.from(`${digits.slice(2)}Z`));
}
