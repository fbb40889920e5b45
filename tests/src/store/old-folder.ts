import { createHash } from 'node:crypto';
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { DatabaseSync } from '@photostructure/sqlite';
import { unzipSync } from 'fflate';
import { z } from 'zod';

const fixtures = 'tests/src/store/fixtures';
/** Versions of the store that were ever given out. */
export const schemas = [1, 2, 3] as const;
export type Schema = (typeof schemas)[number];

/** A data folder as that version left it, at `folder`. */
export function unpackOld(schema: Schema, folder: string): void {
  for (const [name, bytes] of Object.entries(unzipSync(readFileSync(join(fixtures, `schema-${schema}.zip`))))) {
    mkdirSync(dirname(join(folder, name)), { recursive: true });
    writeFileSync(join(folder, name), bytes, { mode: 0o600 });
  }
}

/** SHA-256 of what that version exported of each run. */
export function exportedThen(schema: Schema): Record<string, { chain: string; recording: string }> {
  const text = readFileSync(join(fixtures, 'expected.json'), 'utf8');
  const of = z.record(z.string(), z.record(z.string(), z.object({ chain: z.string(), recording: z.string() })));
  return of.parse(JSON.parse(text))[schema] ?? {};
}

export const sha256Of = (file: string): string => createHash('sha256').update(readFileSync(file)).digest('hex');

export function versionOf(file: string): number {
  const db = new DatabaseSync(file);
  try {
    return z.object({ user_version: z.number() }).parse(db.prepare('PRAGMA user_version').get()).user_version;
  } finally {
    db.close();
  }
}
export const databaseOf = (folder: string): string => join(folder, 'limpid.sqlite');
export const copyOf = (folder: string, version: number): string =>
  join(folder, 'backup', `limpid-version-${version}.sqlite`);
