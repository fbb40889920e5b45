// A half of a surrogate pair is no character; RFC 8785 section 3.2.2.2 makes it an error.
const loneSurrogate = /\p{Surrogate}/u;

function text(value: string): string {
  if (loneSurrogate.test(value)) throw new RangeError('canonical JSON: a lone surrogate cannot be written');
  return JSON.stringify(value);
}

/**
 * Canonical JSON by RFC 8785 (JCS): no white space, keys sorted by UTF-16 code unit, numbers as ECMAScript prints them
 * (so -0 becomes 0). Properties that are `undefined` are left out. Equal values give equal text, hence equal hashes.
 *
 * Throws RangeError for what the RFC forbids (NaN, infinities, lone surrogates) and for what is no JSON at all.
 */
export function canonical(value: unknown): string {
  if (value === null || typeof value === 'boolean') return String(value);
  if (typeof value === 'string') return text(value);
  if (typeof value === 'number') {
    if (!Number.isFinite(value)) throw new RangeError(`canonical JSON: ${value} is no JSON number`);
    return JSON.stringify(value);
  }
  if (Array.isArray(value)) return `[${value.map(canonical).join(',')}]`;
  if (typeof value !== 'object') throw new RangeError(`canonical JSON: a ${typeof value} cannot be written`);
  const members = new Map<string, unknown>(Object.entries(value));
  const parts: string[] = [];
  for (const key of [...members.keys()].sort()) {
    const item = members.get(key);
    if (item !== undefined) parts.push(`${text(key)}:${canonical(item)}`);
  }
  return `{${parts.join(',')}}`;
}
