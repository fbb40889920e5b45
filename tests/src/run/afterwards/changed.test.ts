import { appendFileSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it, vi } from 'vitest';
import { sealedFolder } from '../../../../src/recording/sealed.ts';
import { type Afterwards, openAfterwards } from '../../../../src/run/afterwards/afterwards.ts';
import { createLooker } from '../../../../src/run/afterwards/look-work.ts';
import { openStore } from '../../../../src/store/open.ts';
import type { Store } from '../../../../src/store/store.ts';
import { officeWorld } from '../../../browser/office-world.ts';
import { tamper } from '../../../tamper-store.ts';

/** What the office is told of a run that was changed after it was looked at. */
const data = mkdtempSync(join(tmpdir(), 'limpid-office-changed-'));
const [sealed, , unsealed] = ['run-20260104-0001', 'run-20260205-0002', 'run-20260306-0003'] as const;
const logged: string[] = [];
let store: Store;
let audit: Afterwards;
let wallMs = Date.parse('2026-11-01T08:00:00Z');

function open(): void {
  store = openStore(data);
  audit = openAfterwards({
    data,
    store,
    looker: createLooker(),
    wallMs: () => wallMs,
    log: (line) => logged.push(line),
  });
}
async function close(): Promise<void> {
  await audit.stop();
  store.close();
}
beforeAll(async () => {
  const world = await officeWorld({ runs: 3, data, nowMs: () => wallMs });
  await world.audit.lookAtAll();
  await world.stop();
  open();
}, 60_000);
afterAll(async () => {
  await close();
  rmSync(data, { recursive: true, force: true });
});

const broken = (runId: string): string[] =>
  (audit.page(runId).looked?.findings ?? []).filter((f) => f.id === 'record-broken').map((f) => f.text);
const isStale = (runId: string): boolean => store.index.get(runId)?.stale === true;
/** The page of a run asks for the seal, and then for itself until it is looked at. */
async function opened(runId: string): Promise<string[]> {
  expect(isStale(runId)).toBe(false);
  const seal = await audit.seal(runId);
  expect(isStale(runId)).toBe(true);
  broken(runId);
  await vi.waitUntil(() => !isStale(runId), { timeout: 30_000 });
  expect(seal.state).toBe(store.index.get(runId)?.seal);
  return broken(runId);
}

it('a sealed record that is changed on the disk becomes a finding when its page is opened, and none when it is put right', async () => {
  const file = join(sealedFolder(data, sealed), 'events.csv');
  const before = readFileSync(file);
  expect(broken(sealed)).toEqual([]);
  appendFileSync(file, '9000,note,,added later\n');
  expect((await opened(sealed)).join()).toMatch(/events\.csv, line \d+: changed since it was sealed/);
  writeFileSync(file, before);
  expect(await opened(sealed)).toEqual([]);
}, 60_000);

it('and without anybody opening it, within a day', async () => {
  const file = join(sealedFolder(data, sealed), 'recording.csv');
  const before = readFileSync(file);
  writeFileSync(file, before.subarray(0, before.length - 40));
  wallMs += 25 * 3_600_000;
  audit.list({ search: '', sort: 'started', descending: false, from: 0, count: 1 });
  await vi.waitUntil(() => broken(sealed).length > 0, { timeout: 30_000 });
  writeFileSync(file, before);
  expect(await opened(sealed)).toEqual([]);
}, 60_000);

it('a run changed in the store is found, sealed or not', async () => {
  await close();
  tamper(
    data,
    `UPDATE events SET link = replace(link, '"event":"agitate-end"', '"event":"agitate-start"') WHERE link LIKE '%agitate-end%'`,
  );
  open();
  for (const [runId, state] of [
    [sealed, 'changed'],
    [unsealed, 'changed'],
  ] as const) {
    expect((await opened(runId)).join()).toMatch(
      /limpid\.sqlite: entry \d+ \(\S+, \d+ s\) was changed after it was kept/,
    );
    const seal = await audit.seal(runId);
    expect([seal.state, seal.fingerprint === '']).toEqual([state, runId === unsealed]);
    const report = await audit.file(runId, 'report.html', { paper: 'a4', channels: [] });
    const { content } = report;
    expect('bytes' in content && Buffer.from(content.bytes).includes('The record was changed')).toBe(true);
  }
}, 60_000);

it('samples that cannot be read: its page is refused in a sentence, and the list says that it was changed', async () => {
  const [, touched] = store.index.ids({});
  const intact = touched ?? '';
  await close();
  // Another run, whose seal was looked at and which nobody has opened since.
  tamper(
    data,
    `UPDATE run_index SET seal = 'intact' WHERE run_id = '${intact}';
     UPDATE chunks SET body = x'00' WHERE chunk = 2 AND run = (SELECT run FROM runs WHERE run_id = '${intact}')`,
  );
  open();
  expect(() => audit.page(intact)).toThrow('chunk 2 of the samples in limpid.sqlite cannot be read');
  await vi.waitUntil(() => store.index.get(intact)?.seal === 'changed', { timeout: 30_000 });
}, 60_000);

it('a run whose rows cannot be read is refused in a sentence', async () => {
  await close();
  tamper(data, `UPDATE events SET link = 'rubbish' WHERE idx = 3`);
  open();
  const seal = await audit.seal(sealed);
  expect(seal.state).toBe('changed');
  expect(seal.faults.join()).toContain('entry 3 in limpid.sqlite cannot be read');
  await expect(audit.file(sealed, 'report.pdf', { paper: 'a4', channels: [] })).rejects.toThrow(
    'entry 3 in limpid.sqlite cannot be read',
  );
  store.index.lookAgain(sealed);
  await audit.lookAtAll();
  expect(logged.join('\n')).toContain('entry 3 in limpid.sqlite cannot be read');
  // However often its page asks, it is tried again in a while only.
  const tried = logged.length;
  for (let i = 0; i < 5; i++) {
    audit.page(sealed);
    await new Promise((go) => setTimeout(go, 100));
  }
  expect(logged).toHaveLength(tried);
}, 60_000);
