import { causeOf } from '../core/message/cause.ts';
import { existsSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { z } from 'zod';
import { type Check, fix, ok, unknown } from './check.ts';

const backupDays = 30;
const dayMs = 86_400_000;
const manifestSchema = z.looseObject({ made_at: z.iso.datetime() });

/** How old the newest of these backups is; `folders` is where the user says that they are. */
export function backupCheck(folders: readonly string[], hasRuns: boolean, nowMs: number): Check {
  if (folders.length === 0)
    return unknown(
      'backup',
      'Whether there is a backup is not known.',
      'Run limpid backup FOLDER onto another disk, and limpid doctor --backup FOLDER to have it looked at.',
    );
  const times: number[] = [];
  for (const folder of folders) {
    const path = join(folder, 'backup.json');
    if (!existsSync(path))
      return fix('backup', `There is no backup in ${folder}.`, `Make one: limpid backup ${folder}`);
    try {
      times.push(Date.parse(manifestSchema.parse(JSON.parse(readFileSync(path, 'utf8'))).made_at));
    } catch (error) {
      return fix('backup', `${path} cannot be read: ${causeOf(error)}`, 'Make another backup, into an empty folder.');
    }
  }
  const days = Math.floor((nowMs - Math.max(...times)) / dayMs);
  const age = days === 0 ? 'from today' : `${days} ${days === 1 ? 'day' : 'days'} old`;
  return hasRuns && days > backupDays
    ? fix('backup', `The newest backup is ${age}.`, 'Make another, onto another disk: limpid backup FOLDER')
    : ok('backup', `The newest backup is ${age}.`);
}

/**
 * A clock that was never set stands years before the build or before what is kept.
 * @param newestMs Start of the newest run, 0 when there is none.
 */
export function clockCheck(nowMs: number, builtMs: number, newestMs: number): Check {
  const shown = (ms: number): string => new Date(ms).toISOString().slice(0, 16).replace('T', ' ');
  const next = 'Set the date and time of this machine, and let it ask a time server (timedatectl set-ntp true).';
  if (nowMs < builtMs - dayMs)
    return fix('clock', `The clock says ${shown(nowMs)}, before this Limpid was built (${shown(builtMs)}).`, next);
  if (nowMs < newestMs - dayMs)
    return fix('clock', `The clock says ${shown(nowMs)}, before the newest run began (${shown(newestMs)}).`, next);
  return ok('clock', `The clock says ${shown(nowMs)} UTC.`);
}

/** When the program's own file was written: no clock that is right stands before it. */
export function builtMs(file: string): number {
  return statSync(file, { throwIfNoEntry: false })?.mtimeMs ?? 0;
}
