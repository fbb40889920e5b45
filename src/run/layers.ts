import { causeOf } from '../core/message/cause.ts';
import { existsSync, readFileSync } from 'node:fs';
import { z } from 'zod';
import { nearest } from '../core/message/nearest.ts';
import { Problem } from '../core/message/problem.ts';

/** A setting that is a number, also where all is text. */
export const number = (schema: z.ZodNumber) =>
  z.union([schema, z.string().regex(/^-?\d/, 'not a number').transform(Number).pipe(schema)]);

/** Settings that can come from several places; each place may hold any of them. */
export interface Settings<T> {
  readonly schema: z.ZodType<T>;
  readonly names: readonly string[];
  /** For people, by name: what belongs there. '' is the whole. */
  readonly expected: Readonly<Record<string, string>>;
}

/** What each place says, the nearest first. */
export interface Layers<T> {
  readonly flag: T;
  readonly environment: T;
  readonly written: T;
}

/**
 * Flags, environment (`LIMPID_PORT`) and settings file, read and checked apart. The file is `file`, or `fileOf` what the
 * nearer places say, when that exists. Throws Problem: which place, which name, what was found, what was expected.
 */
export function readLayers<T>(
  settings: Settings<T>,
  flags: Record<string, unknown>,
  env: Record<string, string | undefined>,
  file: string | undefined,
  fileOf: (nearer: { flag: T; environment: T }) => string,
): Layers<T> {
  const flag = parseLayer(settings, 'flag', flags, (key) => `--${key.replaceAll('_', '-')}`);
  const environment = parseLayer(
    settings,
    'environment',
    fromEnvironment(settings.names, env),
    (key) => `LIMPID_${key.toUpperCase()}`,
  );
  const path = file ?? fileOf({ flag, environment });
  const isThere = file !== undefined || existsSync(path);
  const written = parseLayer(settings, path, isThere ? readFile(path) : {}, (key) => key);
  return { flag, environment, written };
}

function fromEnvironment(names: readonly string[], env: Record<string, string | undefined>): Record<string, string> {
  const found: Record<string, string> = {};
  for (const key of names) {
    const value = env[`LIMPID_${key.toUpperCase()}`];
    if (value !== undefined && value !== '') found[key] = value;
  }
  return found;
}

function readFile(path: string): unknown {
  try {
    return JSON.parse(readFileSync(path, 'utf8'));
  } catch (error) {
    // The parser's words quote what stands around the place, which may be a password.
    const said = causeOf(error);
    const detail = error instanceof SyntaxError ? said.replace(/[,. ]*".*$/s, '') : said;
    throw new Problem('config.file', { path, detail });
  }
}

function parseLayer<T>(
  { schema, names, expected }: Settings<T>,
  place: string,
  values: unknown,
  nameOf: (key: string) => string,
): T {
  const parsed = schema.safeParse(values);
  if (parsed.success) return parsed.data;
  const issue = parsed.error.issues[0];
  if (issue?.code === 'unrecognized_keys') {
    const name = issue.keys[0] ?? '';
    throw new Problem('config.unknown', { place, name, nearest: nearest(name, names) ?? '' });
  }
  const key = String(issue?.path[0] ?? '');
  const found = z.record(z.string(), z.unknown()).safeParse(values);
  const value = secret(key, found.success ? JSON.stringify(found.data[key]) : JSON.stringify(values));
  throw new Problem('config.value', { place, name: nameOf(key), found: value, expected: expected[key] ?? '' });
}

/** What may hold a password is not printed. */
function secret(key: string, value: string | undefined): string {
  if (key.endsWith('_password')) return 'what is not shown';
  return (value ?? '').replace(/^("?)([a-z]*:\/*)?.*@/s, '$1$2...@');
}

/** A file that a setting names, as text. Throws Problem. */
export function readText(path: string): string {
  try {
    return readFileSync(path, 'utf8');
  } catch (error) {
    throw new Problem('config.file', { path, detail: causeOf(error) });
  }
}
