import { existsSync } from 'node:fs';

/** Characters of Windows code page 1252 beyond Latin-1: what the fonts that every reader has can show. */
const beyondLatin = '€‚ƒ„…†‡ˆ‰Š‹ŒŽ‘’“”•–—˜™š›œžŸ';

function isPlain(character: string): boolean {
  const code = character.codePointAt(0) ?? 0;
  return (code >= 32 && code < 127) || (code >= 160 && code <= 255) || beyondLatin.includes(character);
}

export interface Fonts {
  readonly regular: string;
  readonly bold: string;
  readonly mono: string;
  /** The text as these fonts can show it. */
  shown(text: string): string;
}

const builtIn = { regular: 'Helvetica', bold: 'Helvetica-Bold', mono: 'Courier' };

/** Where common systems keep a font with the letters of most languages, regular and bold. */
const places: readonly (readonly [string, string])[] = [
  ['/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf', '/usr/share/fonts/truetype/dejavu/DejaVuSans-Bold.ttf'],
  ['/usr/share/fonts/TTF/DejaVuSans.ttf', '/usr/share/fonts/TTF/DejaVuSans-Bold.ttf'],
  ['/usr/share/fonts/truetype/noto/NotoSans-Regular.ttf', '/usr/share/fonts/truetype/noto/NotoSans-Bold.ttf'],
  ['/System/Library/Fonts/Supplemental/Arial Unicode.ttf', '/System/Library/Fonts/Supplemental/Arial Unicode.ttf'],
  ['C:/Windows/Fonts/arial.ttf', 'C:/Windows/Fonts/arialbd.ttf'],
];

// Line ends and tabs within a cell are blanks on paper.
const oneLine = (text: string): string => text.replace(/[\t\n\r]+/g, ' ').replace(/\p{Cc}/gu, '');

/**
 * Fonts for these words. Names in other alphabets need a font of the system, which is then embedded; where there is
 * none, a letter that cannot be shown is a question mark on paper (the page and the record have it right).
 */
export function fontsFor(words: string): Fonts {
  if (Array.from(oneLine(words)).every(isPlain)) return { ...builtIn, shown: oneLine };
  const found = places.find(([regular, bold]) => existsSync(regular) && existsSync(bold));
  if (found) return { regular: found[0], bold: found[1], mono: builtIn.mono, shown: oneLine };
  return { ...builtIn, shown: (text) => Array.from(oneLine(text), (c) => (isPlain(c) ? c : '?')).join('') };
}
