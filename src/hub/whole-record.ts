import { sealSchema } from '../core/seal/seal.ts';

export interface Piece {
  readonly file: string;
  readonly at: number;
  readonly of: number;
  readonly body: Uint8Array;
}

export interface WholeFile {
  readonly file: string;
  readonly body: Uint8Array;
}

export const sealFile = 'seal.json';

/** The files of a sealed record from the pieces that came, in any order; null while something is missing. */
export function wholeRecord(pieces: readonly Piece[]): WholeFile[] | null {
  const byFile = new Map<string, Piece[]>();
  for (const piece of pieces) byFile.set(piece.file, [...(byFile.get(piece.file) ?? []), piece]);
  const files = new Map<string, Uint8Array>();
  for (const [file, parts] of byFile) {
    const body = join(parts);
    if (!body) return null;
    files.set(file, body);
  }
  const seal = files.get(sealFile);
  if (!seal) return null;
  const names = namesIn(seal);
  // A seal that cannot be read will not be read any better by waiting: let it be verified, and refused.
  if (names?.some((name) => !files.has(name))) return null;
  return [...files].map(([file, body]) => ({ file, body }));
}

function join(parts: readonly Piece[]): Uint8Array | null {
  const of = parts[0]?.of ?? 0;
  const whole = new Uint8Array(of);
  let at = 0;
  for (const part of [...parts].sort((a, b) => a.at - b.at)) {
    // Cut otherwise at another time, pieces overlap.
    if (part.of !== of || part.at > at || part.at + part.body.length > of) return null;
    whole.set(part.body, part.at);
    at = Math.max(at, part.at + part.body.length);
  }
  return at === of ? whole : null;
}

function namesIn(seal: Uint8Array): string[] | null {
  try {
    return Object.keys(sealSchema.parse(JSON.parse(new TextDecoder().decode(seal))).files);
  } catch {
    return null;
  }
}
