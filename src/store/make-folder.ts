import { existsSync, mkdirSync } from 'node:fs';
import { dirname } from 'node:path';

/**
 * The folder and those above it, for their owner alone: names and addresses are kept in it. Not by `recursive`, which goes round for ever where the system says that a folder's
 * parent is not there although it is (/proc). Throws as the file system does.
 */
export function makeFolder(folder: string): void {
  if (existsSync(folder)) return;
  const above = dirname(folder);
  if (above !== folder) makeFolder(above);
  try {
    mkdirSync(folder, { mode: 0o700 });
  } catch (error) {
    // Another process was first.
    if (!existsSync(folder)) throw error;
  }
}
