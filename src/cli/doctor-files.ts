import { causeOf } from '../core/message/cause.ts';
import { X509Certificate } from 'node:crypto';
import { existsSync, readdirSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { type Check, fix, ok, unknown } from './check.ts';

/** Whether others on this machine may read it. Windows has no such modes. */
export function isOpen(path: string): boolean {
  return process.platform !== 'win32' && existsSync(path) && (statSync(path).mode & 0o077) !== 0;
}

const inFolder = (folder: string, pattern: RegExp): string[] =>
  existsSync(folder)
    ? readdirSync(folder)
        .filter((name) => pattern.test(name))
        .map((name) => join(folder, name))
    : [];

/** What others on this machine could read, and what it would give them. */
export function openFileChecks(data: string): Check[] {
  return [keyCheck(data), settingsCheck(data), folderModeCheck(data), tlsKeyCheck(data)];
}

function keyCheck(data: string): Check {
  const keys = inFolder(join(data, 'keys'), /\.pem$/);
  if (keys.length === 0) return ok('key', 'There is no signing key yet; it is made with the first seal.');
  const open = keys.filter(isOpen);
  return open.length === 0
    ? ok('key', 'The signing key can be read by its owner only.')
    : fix(
        'key',
        `Others on this machine can read the signing key (${open.join(', ')}) and sign in its name.`,
        `Run: chmod 600 ${open.join(' ')} - and make a new key: what was signed since then proves nothing.`,
      );
}

function settingsCheck(data: string): Check {
  const open = ['limpid.json', 'hub.json'].map((name) => join(data, name)).filter(isOpen);
  return open.length === 0
    ? ok('settings', 'No settings file can be read by others.')
    : fix(
        'settings',
        `Others on this machine can read ${open.join(', ')}, which may hold passwords.`,
        `Run: chmod 600 ${open.join(' ')}`,
      );
}

function folderModeCheck(data: string): Check {
  if (!existsSync(data)) return ok('folder', 'The data folder is made for its owner alone at the first start.');
  return isOpen(data)
    ? fix(
        'folder',
        `Others on this machine can look into the data folder ${data}: names and addresses of clients, hashes of passwords.`,
        `Run: chmod 700 ${data}`,
      )
    : ok('folder', 'Others on this machine cannot look into the data folder.');
}

function tlsKeyCheck(data: string): Check {
  const open = inFolder(join(data, 'tls'), /\.key$/).filter(isOpen);
  return open.length === 0
    ? ok('tls-key', 'No key of https can be read by others.')
    : fix(
        'tls-key',
        `Others on this machine can read ${open.join(', ')} and pass for this bridge to every tablet that trusts it.`,
        `Run: chmod 600 ${open.join(' ')} - then take the folder ${join(data, 'tls')} away, start anew, and tell the tablets the new certificate.`,
      );
}

const soonDays = 30;
const dayMs = 86_400_000;

/**
 * How long the certificates hold: of https, which are made anew in time by a start, and of authorities that somebody gave.
 * @param given PEM texts of authorities in the settings, by the name of their setting.
 */
export function certificateChecks(
  data: string,
  given: Readonly<Record<string, string | null>>,
  nowMs: number,
): Check[] {
  const own = inFolder(join(data, 'tls'), /\.crt$/).map((path): [string, string, string] => [
    path,
    readFileSync(path, 'utf8'),
    path.endsWith('authority.crt')
      ? 'Start limpid anew: it makes a new one, which the tablets must be told once (docs/tablet.md).'
      : 'Start limpid anew: it makes a new one; the tablets go on trusting it.',
  ]);
  const foreign = Object.entries(given).flatMap(([setting, pem]): [string, string, string][] =>
    pem === null ? [] : [[setting, pem, `Ask the firm for its new certificate and name its file in ${setting}.`]],
  );
  return [...own, ...foreign].map(([what, pem, next]) => certificateCheck(what, pem, next, nowMs));
}

function certificateCheck(what: string, pem: string, next: string, nowMs: number): Check {
  try {
    const { validTo } = new X509Certificate(pem);
    const days = Math.floor((Date.parse(validTo) - nowMs) / dayMs);
    const until = new Date(validTo).toISOString().slice(0, 10);
    if (days < 0) return fix('certificate', `The certificate ${what} ran out on ${until}.`, next);
    if (days < soonDays)
      return fix('certificate', `The certificate ${what} runs out on ${until}, in ${days} days.`, next);
    return ok('certificate', `The certificate ${what} holds until ${until}.`);
  } catch (error) {
    return unknown('certificate', `The certificate ${what} cannot be read: ${causeOf(error)}`, next);
  }
}
