/**
 * Bytes of a line -> text. Lines are ASCII but for words of people inside strings (UTF-8, as JSON demands), so the
 * common case goes in one step.
 */
export function lineText(bytes: Uint8Array): string | null {
  for (let i = 0; i < bytes.length; i++) {
    if ((bytes[i] ?? 0) > 0x7f) return utf8(bytes);
  }
  return plain(bytes);
}

function plain(bytes: Uint8Array): string {
  const text: unknown = Reflect.apply(String.fromCharCode, null, bytes);
  return String(text);
}

/** Strict UTF-8 (RFC 3629); null when the bytes are none: noise must not pass as letters. */
function utf8(bytes: Uint8Array): string | null {
  let text = '';
  for (let i = 0; i < bytes.length; ) {
    const first = bytes[i] ?? 0;
    const more = first < 0x80 ? 0 : first >= 0xc2 && first < 0xe0 ? 1 : first >= 0xe0 && first < 0xf0 ? 2 : 3;
    if (more === 3 && (first < 0xf0 || first > 0xf4)) return null;
    let point = more === 0 ? first : first & (0x3f >> more);
    for (let k = 1; k <= more; k++) {
      const next = bytes[i + k] ?? 0;
      if ((next & 0xc0) !== 0x80) return null;
      point = (point << 6) | (next & 0x3f);
    }
    const least = more === 2 ? 0x800 : more === 3 ? 0x10000 : 0;
    if (point < least || point > 0x10ffff || (point >= 0xd800 && point < 0xe000)) return null;
    text += String.fromCodePoint(point);
    i += more + 1;
  }
  return text;
}

/** Text -> UTF-8 bytes, the way back. Lone surrogates become U+FFFD, as everywhere. */
export function textBytes(text: string): Uint8Array {
  const plain = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i++) {
    const code = text.charCodeAt(i);
    if (code > 0x7f) return utf8Bytes(text);
    plain[i] = code;
  }
  return plain;
}

function utf8Bytes(text: string): Uint8Array {
  const bytes: number[] = [];
  for (const letter of text) {
    let point = letter.codePointAt(0) ?? 0;
    if (point >= 0xd800 && point < 0xe000) point = 0xfffd;
    if (point < 0x80) bytes.push(point);
    else if (point < 0x800) bytes.push(0xc0 | (point >> 6), 0x80 | (point & 0x3f));
    else if (point < 0x10000) bytes.push(0xe0 | (point >> 12), 0x80 | ((point >> 6) & 0x3f), 0x80 | (point & 0x3f));
    else {
      bytes.push(0xf0 | (point >> 18), 0x80 | ((point >> 12) & 0x3f));
      bytes.push(0x80 | ((point >> 6) & 0x3f), 0x80 | (point & 0x3f));
    }
  }
  return Uint8Array.from(bytes);
}
