import { chmodSync, closeSync, copyFileSync, fsyncSync, openSync, renameSync, statSync, writeFileSync } from 'node:fs';

/** A file that has its name only when it is whole and on the disk: a power cut leaves the old one or the new one. */
export function writeWhole(path: string, text: string, mode = 0o644): void {
  writeFileSync(`${path}.new`, text, { mode, flush: true });
  renameSync(`${path}.new`, path);
}

/** A copy, with its mode, on the disk when this returns. */
export function copySynced(from: string, to: string): void {
  copyFileSync(from, to);
  chmodSync(to, statSync(from).mode & 0o777);
  const handle = openSync(to, 'r+');
  try {
    fsyncSync(handle);
  } finally {
    closeSync(handle);
  }
}
