import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { Problem } from '../../../src/core/message/problem.ts';
import { sealOf } from '../../../src/recording/sealed.ts';
import { backUp, restoreBackup } from '../../../src/run/backup.ts';
import { openStore } from '../../../src/store/open.ts';
import { rig } from '../../peers/firm/rig.ts';

const place = mkdtempSync(join(tmpdir(), 'limpid-backup-'));
const made = rig('van-1');
made.record(2);
made.seal();
afterAll(async () => {
  await made.dispose();
  rmSync(place, { recursive: true, force: true });
});
const at = (name: string): string => join(place, name);
const code = (work: () => unknown): string => {
  try {
    work();
  } catch (error) {
    if (error instanceof Problem) return error.code;
    throw error;
  }
  return 'nothing was refused';
};
const backupTo = (name: string) => backUp(made.store, made.folder, at(name), '2026-01-02T05:00:00.000Z');

describe('a backup', () => {
  it('restores to the same runs, the same seal and the same key, which only its owner can read', () => {
    expect(backupTo('copy').runs).toBe(1);
    restoreBackup(at('copy'), at('again'));
    const store = openStore(at('again'));
    expect(store.openRun(made.runId)?.events()).toEqual(made.run.events());
    expect([...(store.openRun(made.runId)?.samples() ?? [])]).toEqual([...made.run.samples()]);
    store.close();
    expect(sealOf(at('again'), made.runId)?.state).toBe('good');
    const keys = readdirSync(made.folder, { recursive: true, encoding: 'utf8' }).filter((name) =>
      /key.*\.pem$/.test(name),
    );
    expect(keys.length).toBeGreaterThan(0);
    for (const name of keys) {
      expect(readFileSync(join(at('again'), name))).toEqual(readFileSync(join(made.folder, name)));
      expect(statSync(join(at('again'), name)).mode & 0o077).toBe(0);
    }
  });

  it('is refused when any one file of it is changed or gone, and nothing is restored', () => {
    backupTo('hurt');
    const files = Object.keys(JSON.parse(readFileSync(join(at('hurt'), 'backup.json'), 'utf8')).files);
    expect(files).toContain('limpid.sqlite');
    for (const name of files) {
      const path = join(at('hurt'), name);
      const whole = readFileSync(path);
      const changed = Buffer.from(whole);
      changed[changed.length >> 1] = (changed[changed.length >> 1] ?? 0) ^ 1;
      writeFileSync(path, changed);
      expect(code(() => restoreBackup(at('hurt'), at('none')))).toBe('backup-file-changed');
      rmSync(path);
      expect(code(() => restoreBackup(at('hurt'), at('none')))).toBe('backup-file-gone');
      writeFileSync(path, whole);
    }
    expect(readdirSync(place)).not.toContain('none');
    writeFileSync(join(at('hurt'), 'backup.json'), '{}');
    expect(code(() => restoreBackup(at('hurt'), at('none')))).toBe('backup-file-changed');
  });

  it('writes over nothing, and is no backup without its list', () => {
    mkdirSync(at('taken'));
    writeFileSync(join(at('taken'), 'mine.txt'), 'mine');
    expect(code(() => backupTo('taken'))).toBe('backup-taken');
    expect(code(() => restoreBackup(at('copy'), at('taken')))).toBe('backup-taken');
    expect(code(() => restoreBackup(at('taken'), at('none')))).toBe('backup-none');
    expect(code(() => backUp(made.store, made.folder, join(at('copy'), 'backup.json', 'x'), ''))).toBe(
      'backup-not-writable',
    );
    expect(readFileSync(join(at('taken'), 'mine.txt'), 'utf8')).toBe('mine');
  });

  it.skipIf(process.platform !== 'linux')('is refused where a folder can never be made', () => {
    expect(code(() => backUp(made.store, made.folder, '/proc/nowhere/x', ''))).toBe('backup-not-writable');
  });
});
