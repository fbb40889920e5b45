import { spawnSync } from 'node:child_process';
import {
  closeSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  openSync,
  readdirSync,
  rmSync,
  statSync,
  writeFileSync,
  writeSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DatabaseSync } from '@photostructure/sqlite';
import { afterAll, describe, expect, test } from 'vitest';
import { Problem } from '../../../src/core/message/problem.ts';
import { verifyChain } from '../../../src/core/seal/verify.ts';
import { migrations } from '../../../src/store/migrations/migrations.ts';
import { Arrivals } from '../../../src/store/arrivals.ts';
import { openStore, type StoreOptions } from '../../../src/store/open.ts';
import { sha256 } from '../../../src/store/rows.ts';
import type { Store } from '../../../src/store/store.ts';
import { eventOf, headOf, sampleAt } from '../../contracts/store.contract.ts';

const root = mkdtempSync(join(tmpdir(), 'limpid-open-'));
afterAll(() => rmSync(root, { recursive: true, force: true }));
let n = 0;
const place = (): string => join(root, String((n += 1)));
const fileIn = (folder: string): string => join(folder, 'limpid.sqlite');

function problemOf(work: () => unknown): Problem {
  try {
    work();
  } catch (error) {
    if (error instanceof Problem) return error;
    throw error;
  }
  throw new Error('nothing was wrong');
}

function filled(folder: string, options?: StoreOptions): Store {
  const store = openStore(folder, options);
  const run = store.createRun(headOf('r1'));
  for (let i = 0; i < 700; i++) run.appendSample(sampleAt(i / 10));
  run.flush();
  run.appendEvent(eventOf('a', 70));
  return store;
}

describe('opening a store', () => {
  test('a second opening is refused with the number of the process that holds it, until the first is closed', () => {
    const folder = place();
    const first = openStore(folder);
    const refused = problemOf(() => openStore(folder));
    expect(refused).toMatchObject({ code: 'store-in-use', params: { file: fileIn(folder), pid: String(process.pid) } });
    first.close();
    openStore(folder).close();
  });

  test('held by a program that is no Limpid, no process is named, least of all one that is dead', () => {
    const folder = place();
    openStore(folder).close();
    const other = new DatabaseSync(fileIn(folder));
    other.exec('BEGIN EXCLUSIVE');
    const dead = spawnSync(process.execPath, ['-e', '']).pid;
    writeFileSync(join(folder, 'limpid.lock'), `${dead}\n`);
    expect(problemOf(() => openStore(folder)).message).toContain('is in use by another program.');
    other.close();
  });

  test('another process is refused too', () => {
    const folder = place();
    const store = openStore(folder);
    const other = `
      import { DatabaseSync } from '@photostructure/sqlite';
      try { new DatabaseSync(process.argv[1]).prepare('SELECT * FROM runs').all(); console.log('read'); }
      catch (error) { console.log(error.sqliteCodeName); }`;
    const words = ['--input-type=module', '-e', other, fileIn(folder)];
    const said = spawnSync(process.execPath, words, { encoding: 'utf8' });
    expect(said.stdout.trim()).toBe('SQLITE_BUSY');
    store.close();
  });

  test('a closed store leaves one file', () => {
    const folder = place();
    filled(folder).close();
    expect(readdirSync(folder)).toEqual(['limpid.sqlite']);
  });

  test('a file that is no database is said to be damaged, by name, and is left alone', () => {
    const folder = place();
    mkdirSync(folder);
    writeFileSync(fileIn(folder), 'not a database at all'.repeat(1000));
    const size = statSync(fileIn(folder)).size;
    for (let i = 0; i < 2; i++)
      expect(problemOf(() => openStore(folder))).toMatchObject({
        code: 'store-corrupt',
        params: { file: fileIn(folder) },
      });
    expect(statSync(fileIn(folder)).size).toBe(size);
  });

  test('a database with damaged pages is found at the start', () => {
    const folder = place();
    filled(folder).close();
    const handle = openSync(fileIn(folder), 'r+');
    for (let page = 2; page < 12; page++) writeSync(handle, Buffer.alloc(4096, 0xa5), 0, 4096, page * 4096);
    closeSync(handle);
    expect(problemOf(() => openStore(folder))).toMatchObject({ code: 'store-corrupt' });
  });

  test('a database cut short is found at the start', () => {
    const folder = place();
    filled(folder).close();
    const handle = openSync(fileIn(folder), 'r+');
    closeSync(handle);
    const size = statSync(fileIn(folder)).size;
    spawnSync('truncate', ['-s', String(size - 3 * 4096), fileIn(folder)]);
    expect(problemOf(() => openStore(folder))).toMatchObject({ code: 'store-corrupt' });
  });

  test('a database of something else is not touched', () => {
    const folder = place();
    mkdirSync(folder);
    const other = new DatabaseSync(fileIn(folder));
    other.exec('CREATE TABLE letters (a)');
    other.close();
    expect(problemOf(() => openStore(folder))).toMatchObject({ code: 'store-foreign' });
  });

  test('a folder that cannot be made is said', () => {
    const file = place();
    writeFileSync(file, '');
    const inFile = { detail: 'part of its path is a file, not a folder' };
    expect(problemOf(() => openStore(join(file, 'data')))).toMatchObject({
      code: 'store-not-writable',
      params: inFile,
    });
    expect(problemOf(() => openStore(file))).toMatchObject({ params: { detail: 'it cannot be opened there' } });
    expect(problemOf(() => new Arrivals(join(file, 'data')))).toMatchObject({
      code: 'store-not-writable',
      params: { file: join(file, 'data', 'arrivals.sqlite') },
    });
  });

  test('what a process that died left half done in the folder goes', () => {
    const folder = place();
    mkdirSync(join(folder, 'work', 'zip-half'), { recursive: true });
    openStore(folder).close();
    expect(existsSync(join(folder, 'work'))).toBe(false);
  });

  test('every sentence names the file', () => {
    const folder = place();
    const store = openStore(folder);
    expect(problemOf(() => openStore(folder)).message).toContain(fileIn(folder));
    store.close();
    expect(problemOf(() => store.setCurrentRun(null)).code).toBe('store-closed');
  });
});

describe('a full disk', () => {
  test('refuses, loses nothing that was acknowledged, and goes on when there is room', () => {
    const folder = place();
    const store = openStore(folder, { maxPages: 40 });
    const run = store.createRun(headOf('r1'));
    const acknowledged: string[] = [];
    const full = problemOf(() => {
      for (let i = 0; i < 2000; i++) {
        run.appendEvent(eventOf(`e${i}`, i));
        acknowledged.push(`e${i}`);
      }
    });
    expect(full.code).toBe('store-disk-full');
    for (let i = 0; i < 3000; i++) run.appendSample(sampleAt(i / 10));
    expect(problemOf(() => run.flush()).code).toBe('store-disk-full');
    // What could not be committed is still there to be read, and is committed when there is room.
    expect([...run.samples()]).toHaveLength(3000);
    expect(run.unkept()).toEqual({ count: 3000, fromS: 0 });
    expect(problemOf(() => store.close()).code).toBe('store-disk-full');
    const again = openStore(folder);
    const found = again.openRun('r1');
    expect(found?.events().map((e) => e.id)).toEqual(acknowledged);
    found?.appendEvent(eventOf('after', 9999));
    expect(verifyChain(headOf('r1'), found?.events() ?? [], sha256).intact).toBe(true);
    again.close();
  });

  test('samples that found no room are kept in order once there is some', () => {
    const folder = place();
    const first = openStore(folder);
    first.createRun(headOf('r1'));
    first.close();
    const run = openStore(folder, { maxPages: 14 }).openRun('r1');
    if (!run) throw new Error('no run');
    for (let i = 0; i < 5000; i++) run.appendSample(sampleAt(i / 10));
    expect(problemOf(() => run.flush()).code).toBe('store-disk-full');
    run.appendSample(sampleAt(500));
    expect([...run.samples()]).toHaveLength(5001);
    expect(run.unkept()).toEqual({ count: 5001, fromS: 0 });
    expect(run.events()).toEqual([]);
  });
});

describe('steps from version to version', () => {
  const next = migrations.length + 1;
  const second = { version: next, sql: 'CREATE TABLE weather (run INTEGER)' };
  const wrong = { version: next, sql: 'CREATE TABLE weather (run INTEGER); CREATE TABLE runs (again)' };

  test('the first is version 1, each is one more', () => {
    expect(migrations.map((m) => m.version)).toEqual(migrations.map((_, i) => i + 1));
  });

  test('a step is taken once, after a whole copy was made', () => {
    const folder = place();
    filled(folder).close();
    const store = openStore(folder, { migrations: [...migrations, second] });
    expect(store.openRun('r1')?.events()).toHaveLength(2);
    store.close();
    openStore(folder, { migrations: [...migrations, second] }).close();
    const backup = place();
    mkdirSync(backup);
    const copy = join(folder, 'backup', `limpid-version-${next - 1}.sqlite`);
    spawnSync('cp', [copy, fileIn(backup)]);
    const old = openStore(backup);
    expect(old.runs()).toEqual([headOf('r1')]);
    expect([...(old.openRun('r1')?.samples() ?? [])]).toHaveLength(700);
    old.close();
  });

  test('a step that fails leaves the store as it was, and says so', () => {
    const folder = place();
    filled(folder).close();
    const failed = problemOf(() => openStore(folder, { migrations: [...migrations, wrong] }));
    expect(failed).toMatchObject({ code: 'store-migration-failed', params: { from: next - 1, to: next } });
    const store = openStore(folder);
    expect(store.openRun('r1')?.events()).toHaveLength(2);
    store.close();
  });

  test('a store of a later version is refused', () => {
    const folder = place();
    filled(folder, { migrations: [...migrations, second] }).close();
    expect(problemOf(() => openStore(folder))).toMatchObject({
      code: 'store-too-new',
      params: { found: next, expected: next - 1 },
    });
    expect(existsSync(join(folder, 'backup'))).toBe(false);
  });
});
