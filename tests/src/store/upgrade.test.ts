import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DatabaseSync } from '@photostructure/sqlite';
import { afterAll, describe, expect, it } from 'vitest';
import { verifyChain } from '../../../src/core/seal/verify.ts';
import { exportOne } from '../../../src/recording/bulk.ts';
import { verifyRecording } from '../../../src/recording/recording.ts';
import { migrations } from '../../../src/store/migrations/migrations.ts';
import { openStore } from '../../../src/store/open.ts';
import { sha256 } from '../../../src/store/rows.ts';
import { limpid } from '../cli/command-line.ts';
import {
  copyOf,
  databaseOf,
  exportedThen,
  type Schema,
  schemas,
  sha256Of,
  unpackOld,
  versionOf,
} from './old-folder.ts';

const root = mkdtempSync(join(tmpdir(), 'limpid-upgrade-'));
afterAll(() => rmSync(root, { recursive: true, force: true }));
let n = 0;
function old(schema: Schema): string {
  const folder = join(root, `${schema}-${(n += 1)}`);
  unpackOld(schema, folder);
  return folder;
}

const newest = migrations.length;
it('there is a folder of each version', () => {
  expect(schemas.at(-1)).toBe(newest);
});

describe.each(schemas)('a data folder of version %i', (schema) => {
  it('is copied before each step, and every run in it reads as it did', () => {
    const folder = old(schema);
    expect(versionOf(databaseOf(folder))).toBe(schema);
    const store = openStore(folder);
    for (let version = 1; version < newest; version++)
      expect(existsSync(copyOf(folder, version))).toBe(version >= schema);
    const then = exportedThen(schema);
    expect(
      store
        .runs()
        .map((r) => r.runId)
        .sort(),
    ).toEqual(Object.keys(then).sort());
    for (const [runId, { chain, recording }] of Object.entries(then)) {
      const run = store.openRun(runId);
      if (!run) throw new Error(`${runId} is gone`);
      expect(verifyChain(run.head, run.events(), sha256).intact).toBe(true);
      const out = join(folder, 'out', runId);
      // With its seal, where it has one.
      exportOne(folder, run, out);
      expect([runId, sha256Of(join(out, 'recording.csv'))]).toEqual([runId, recording]);
      expect([runId, sha256Of(join(out, 'chain.jsonl'))]).toEqual([runId, chain]);
      expect(verifyRecording(out).sound).toBe(true);
    }
    expect(store.currentRunId()).toMatch(/^run-/);
    expect(store.index.ids({ search: '', sort: 'started', descending: false, from: 0, count: 9 })).toHaveLength(2);
    store.close();
    expect(versionOf(databaseOf(folder))).toBe(newest);
    const before = schema < newest ? copyOf(folder, schema) : databaseOf(folder);
    expect(versionOf(before)).toBe(schema);
  });
});

describe('sealed records', () => {
  it.each([2, 3] as const)('of version %i are still proved', (schema) => {
    const folder = old(schema);
    openStore(folder).close();
    const check = verifyRecording(join(folder, 'sealed', 'simulated-ordinary-3'));
    expect([check.sound, check.seal.state]).toEqual([true, 'good']);
  });
});

describe('a store of a newer Limpid', () => {
  it('is refused by a sentence, and left as it is', async () => {
    const folder = old(3);
    const db = new DatabaseSync(databaseOf(folder));
    db.exec(`PRAGMA user_version = ${newest + 1}`);
    db.close();
    const { code, stderr } = await limpid('runs', '--data', folder);
    expect(code).toBe(1);
    expect(stderr).toMatch(/newer/);
    expect(versionOf(databaseOf(folder))).toBe(newest + 1);
  });
});
