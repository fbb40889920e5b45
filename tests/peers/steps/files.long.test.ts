import { cpSync, existsSync, mkdirSync, mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { DatabaseSync } from '@photostructure/sqlite';
import { Problem } from '../../../src/core/message/problem.ts';
import { exportOne, exportZip, takeInZip } from '../../../src/recording/bulk.ts';
import { verifyRecording } from '../../../src/recording/recording.ts';
import { keepPhoto } from '../../../src/recording/run-files.ts';
import { sealedFolder, sealOf, sealRun } from '../../../src/recording/sealed.ts';
import { ownKeys, rotateKey, signingKey } from '../../../src/recording/signing-key.ts';
import { backUp, restoreBackup } from '../../../src/run/backup.ts';
import { migrations } from '../../../src/store/migrations/migrations.ts';
import { openStore } from '../../../src/store/open.ts';
import { sealEvent } from '../../../src/core/seal/named.ts';
import type { RunStore, Store, StoredEvent } from '../../../src/store/store.ts';
import type { Sample } from '../../../src/core/quantity/sample.ts';
import { headOf, rig } from '../firm/rig.ts';
import { dieAtEachStep } from './die.ts';

const root = mkdtempSync(join(tmpdir(), 'limpid-steps-'));
afterAll(() => rmSync(root, { recursive: true, force: true }));

const { runId } = headOf('van-1');
const sealing = { by: 'A. Engineer', who: 'test', timeS: 120, wallAt: '2026-01-02T04:00:00.000Z' };

/** A folder with a data folder in it: a run of two minutes with a photo. */
interface Template {
  readonly folder: string;
  readonly links: readonly StoredEvent[];
  readonly samples: readonly Sample[];
}

async function template(name: string): Promise<Template> {
  const folder = join(root, name);
  const made = rig('van-1');
  made.record(2);
  const photo = keepPhoto(made.folder, runId, Uint8Array.from([0xff, 0xd8, 0xff, ...Array(5000).fill(7)]));
  const event = { timeS: 120, event: 'photo', emitter: '', note: 'before', data: { ...photo } };
  made.run.appendEvent({ id: 'photo-1', event, who: 'test', wallAt: sealing.wallAt });
  made.run.keepSamples();
  signingKey(made.folder);
  const filled = { folder, links: made.run.events(), samples: [...made.run.samples()] };
  made.store.close();
  cpSync(made.folder, join(folder, 'data'), { recursive: true });
  await made.dispose();
  return filled;
}

/** The same, sealed. */
function sealedFrom({ folder, samples }: Template): Template {
  const to = `${folder}-sealed`;
  cpSync(folder, to, { recursive: true });
  const data = join(to, 'data');
  const links = inStore(data, (run) => {
    sealRun(data, run, sealing);
    return run.events();
  });
  return { folder: to, links, samples };
}

/** What is in a data folder, with its store open meanwhile. */
function inStore<T>(data: string, then: (run: RunStore, store: Store) => T): T {
  const store = openStore(data);
  try {
    const run = store.openRun(runId);
    if (!run) throw new Error('the run is gone');
    return then(run, store);
  } finally {
    store.close();
  }
}

const codeOf = (work: () => unknown): string => {
  try {
    work();
  } catch (error) {
    if (error instanceof Problem) return error.code;
    throw error;
  }
  return 'done';
};

const isWhole = (data: string, { links, samples }: Template): void =>
  inStore(data, (run) => {
    expect(run.events()).toEqual(links);
    expect([...run.samples()]).toEqual(samples);
  });
const leftovers = (folder: string): string[] =>
  readdirSync(folder, { recursive: true, encoding: 'utf8' }).filter((name) =>
    /\.(part|new|sealing)(\/|$)|zip-/.test(name),
  );

describe('a kill before each step', () => {
  let open: Template;
  let sealed: Template;
  let keyWas = '';
  beforeAll(async () => {
    open = await template('open');
    sealed = sealedFrom(open);
    keyWas = signingKey(join(open.folder, 'data')).key;
  });

  test('of a backup: none or a whole one, the data as they were, and the same command makes it', async () => {
    const done = await dieAtEachStep('backup', sealed.folder, (folder) => {
      const [data, to] = [join(folder, 'data'), join(folder, 'to')];
      isWhole(data, sealed);
      const isThere = existsSync(join(to, 'backup.json'));
      const answer = codeOf(() => inStore(data, (_, store) => backUp(store, data, to, sealing.wallAt)));
      expect(answer).toBe(isThere ? 'backup-taken' : 'done');
      restoreBackup(to, join(folder, 'again'));
      isWhole(join(folder, 'again'), sealed);
      expect(sealOf(join(folder, 'again'), runId)?.state).toBe('good');
      expect(leftovers(folder)).toEqual([]);
    });
    expect(done.unsynced).toEqual([]);
    expect(done.steps).toBeGreaterThan(30);
  });

  test('of a restore: no data folder or a whole one, and the same command makes it', async () => {
    const from = join(root, 'backed-up');
    mkdirSync(from);
    inStore(join(sealed.folder, 'data'), (_, store) =>
      backUp(store, join(sealed.folder, 'data'), join(from, 'to'), sealing.wallAt),
    );
    const done = await dieAtEachStep('restore', from, (folder) => {
      const data = join(folder, 'data');
      const isThere = existsSync(data) && readdirSync(data).length > 0;
      expect(codeOf(() => restoreBackup(join(folder, 'to'), data))).toBe(isThere ? 'backup-taken' : 'done');
      isWhole(data, sealed);
      expect(sealOf(data, runId)?.state).toBe('good');
      expect(leftovers(folder)).toEqual([]);
    });
    expect(done.unsynced).toEqual([]);
    expect(done.steps).toBeGreaterThan(20);
  });

  test('of sealing: not sealed or sealed whole, by one entry, and the same command seals', async () => {
    const done = await dieAtEachStep('seal', open.folder, (folder) => {
      const data = join(folder, 'data');
      const isSealed = sealOf(data, runId)?.state === 'good';
      const answer = codeOf(() => inStore(data, (run) => sealRun(data, run, sealing)));
      expect(answer).toBe(isSealed ? 'seal-already' : 'done');
      expect(verifyRecording(sealedFolder(data, runId))).toMatchObject({ sound: true, seal: { state: 'good' } });
      const kept = inStore(data, (run) => run.events());
      expect(kept.slice(0, open.links.length)).toEqual(open.links);
      expect(kept.filter((link) => link.event.event === sealEvent)).toHaveLength(1);
      expect(leftovers(data)).toEqual([]);
    });
    expect(done.unsynced).toEqual([]);
    expect(done.steps).toBeGreaterThan(20);
  });

  test('of sealing, and the key is replaced: sealed by the old key, or by the new one and the record says so', async () => {
    const seen = new Set<string>();
    const done = await dieAtEachStep('seal', open.folder, (folder) => {
      const data = join(folder, 'data');
      const old = signingKey(data).key;
      const own = rotateKey(data).key;
      const isSealed = sealOf(data, runId)?.state === 'good';
      const answer = codeOf(() => inStore(data, (run) => sealRun(data, run, sealing)));
      expect(answer).toBe(isSealed ? 'seal-already' : 'done');
      const check = verifyRecording(sealedFolder(data, runId));
      expect(check).toMatchObject({ sound: true, faults: [], seal: { state: 'good' } });
      const kept = inStore(data, (run) => run.events());
      const seals = kept.filter((link) => link.event.event === sealEvent);
      const by = check.seal.seal?.key === old ? 'old' : 'new';
      expect(check.seal.seal?.key).toBe(by === 'old' ? old : own);
      expect(seals.at(-1)?.event.note).toMatch(seals.length === 2 ? /sealing by A\. Engineer .* was cut short/ : /^$/);
      seen.add(`${seals.length} ${by}`);
      expect(leftovers(data)).toEqual([]);
    });
    // Nothing entered yet; entered and not signed; signed.
    expect([...seen].sort()).toEqual(['1 new', '1 old', '2 new']);
    expect(done.steps).toBeGreaterThan(20);
  });

  test('of an export: nothing that passes for whole and is not, and the same command makes it', async () => {
    for (const from of [open, sealed]) {
      const done = await dieAtEachStep('export', from.folder, (folder) => {
        const [data, to] = [join(folder, 'data'), join(folder, 'to')];
        isSoundOrNone(to, [from.links.length]);
        inStore(data, (run) => exportOne(data, run, to));
        expect(verifyRecording(to)).toMatchObject({ sound: true });
        expect(leftovers(folder)).toEqual([]);
      });
      expect(done.steps).toBeGreaterThan(8);
    }
  });

  test('of an export over an older one: what is half is told as such', async () => {
    const folder = join(root, 'older');
    cpSync(open.folder, folder, { recursive: true });
    const before = inStore(join(folder, 'data'), (run) => run.linkCount());
    inStore(join(folder, 'data'), (run) => {
      exportOne(join(folder, 'data'), run, join(folder, 'to'));
      const event = { timeS: 121, event: 'note', emitter: '', note: 'later', data: {} };
      run.appendEvent({ id: 'later', event, who: 'test', wallAt: sealing.wallAt });
    });
    await dieAtEachStep('export', folder, (at) => {
      isSoundOrNone(join(at, 'to'), [before, before + 1]);
      inStore(join(at, 'data'), (run) => exportOne(join(at, 'data'), run, join(at, 'to')));
      expect(verifyRecording(join(at, 'to'))).toMatchObject({ sound: true });
    });
  });

  test('of an export as a zip: no file or a whole one, and the data folder is left clean', async () => {
    const done = await dieAtEachStep('export-zip', sealed.folder, (folder) => {
      const [data, file] = [join(folder, 'data'), join(folder, 'to.zip')];
      if (existsSync(file)) takesIn(file, join(folder, 'one'), sealed);
      inStore(data, (run) => exportZip(data, run, file));
      takesIn(file, join(folder, 'two'), sealed);
      expect(leftovers(folder)).toEqual([]);
    });
    // What is packed, with its photos, lies aside for a moment only.
    expect(done.unsynced.filter((name) => !/^(record\.part|files)\//.test(name))).toEqual([]);
    expect(done.steps).toBeGreaterThan(15);
  });

  test('of the steps from the first version of the store: the old shape or the new one, and its copy whole', async () => {
    const folder = join(root, 'version-1');
    mkdirSync(join(folder, 'data'), { recursive: true });
    asFirstVersion(join(open.folder, 'data', 'limpid.sqlite'), join(folder, 'data', 'limpid.sqlite'));
    const done = await dieAtEachStep('migrate', folder, (at) => {
      isWhole(join(at, 'data'), open);
      const copies = existsSync(join(at, 'data', 'backup')) ? readdirSync(join(at, 'data', 'backup')).sort() : [];
      expect(copies).toEqual(['limpid-version-1.sqlite', 'limpid-version-2.sqlite']);
      for (const [i, name] of copies.entries()) {
        mkdirSync(join(at, `copy-${i}`));
        cpSync(join(at, 'data', 'backup', name), join(at, `copy-${i}`, 'limpid.sqlite'));
        isWhole(join(at, `copy-${i}`), open);
      }
    });
    expect(done.unsynced).toEqual([]);
    expect(done.steps).toBeGreaterThan(10);
  });

  test('of a new key: the old or the new one signs, and the old one stays known', async () => {
    await dieAtEachStep('new-key', sealed.folder, (folder) => {
      const data = join(folder, 'data');
      expect(ownKeys(data)).toContain(keyWas);
      rotateKey(data);
      expect(signingKey(data).key).not.toBe(keyWas);
      expect(ownKeys(data)).toContain(keyWas);
    });
  });
});

/** What lies in `to` verifies as a whole state of the run, or does not verify. */
function isSoundOrNone(to: string, counts: readonly number[]): void {
  if (!existsSync(to)) return;
  const found = verifyOrNull(to);
  const count = found?.chain?.intact ? found.chain.end.count : -1;
  expect(found?.sound ? counts : [count]).toContain(count);
}

function verifyOrNull(to: string) {
  try {
    return verifyRecording(to);
  } catch (error) {
    if (error instanceof Problem) return null;
    throw error;
  }
}

/** The same rows in the shape that the first version had. */
function asFirstVersion(from: string, to: string): void {
  const db = new DatabaseSync(to);
  db.exec(migrations[0]?.sql ?? '');
  db.exec(`PRAGMA application_id = ${0x4c494d50}; PRAGMA user_version = 1; ATTACH '${from}' AS new`);
  for (const table of ['runs', 'events', 'chunks', 'tail']) db.exec(`INSERT INTO ${table} SELECT * FROM new.${table}`);
  db.exec('DETACH new');
  db.close();
}

function takesIn(file: string, data: string, from: Template): void {
  const store = openStore(data);
  expect(takeInZip(data, store, file)).toBe(runId);
  store.close();
  isWhole(data, from);
}
