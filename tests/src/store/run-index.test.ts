import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DatabaseSync } from '@photostructure/sqlite';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openStore } from '../../../src/store/open.ts';
import { type ListQuery, type LookedAt, sortKeys } from '../../../src/store/run-index.ts';
import type { Store } from '../../../src/store/store.ts';
import { context } from '../core/job/job-cases.ts';

const folder = mkdtempSync(join(tmpdir(), 'limpid-index-'));
let store: Store;
const people = ['Ann', 'Ben', 'Cy'];
const all: ListQuery = { search: '', sort: 'started', descending: false, from: 0, count: 200 };
const looked = (i: number, more: Partial<LookedAt> = {}): LookedAt => ({
  startedAt: new Date(Date.UTC(2026, 0, 1 + (i % 10))).toISOString(),
  site: `${i} Example Row`,
  engineer: people[i % 3] ?? '',
  client: i === 4 ? '100% Client_x' : '',
  rig: 'urn:dev:mac:02',
  durationS: 60 * i,
  findings: Array.from({ length: i % 4 }, (_, n) => ({ key: `f${n}`, rank: 3 - n })),
  rules: 'v1',
  figures: `{"i":${i}}`,
  page: `{"page":${i}}`,
  ...more,
});

beforeAll(() => {
  store = openStore(folder);
  for (let i = 0; i < 30; i++) {
    const startedAt = new Date(Date.UTC(2026, 0, 1 + (i % 10))).toISOString();
    store.createRun({ runId: `r${i}`, title: `Title ${i}`, simulated: i === 3, startedAt, context });
    if (i === 29) continue;
    const found = looked(i);
    store.index.lookedAt(`r${i}`, found, new Set(found.findings.map((f) => f.key)));
  }
});
afterAll(() => {
  store.close();
  rmSync(folder, { recursive: true, force: true });
});

const ids = (query: Partial<ListQuery>): string[] => store.index.list({ ...all, ...query }).rows.map((r) => r.runId);

describe('the index of runs', () => {
  it('knows a run as soon as it is made, before anybody looked at it', () => {
    expect(store.index.get('r29')).toMatchObject({
      title: 'Title 29',
      findings: null,
      openFindings: null,
      stale: true,
    });
    expect(store.index.get('r3')).toMatchObject({
      simulated: true,
      findings: 3,
      openFindings: 3,
      worst: 1,
      stale: false,
    });
    expect(store.index.get('none')).toBeNull();
  });

  it.each(sortKeys)('sorts by %s both ways, and paging neither doubles nor drops a run', (sort) => {
    const forth = ids({ sort });
    expect(new Set(forth).size).toBe(30);
    expect(ids({ sort, descending: true })).toEqual(forth.toReversed());
    const paged = [0, 7, 14, 21, 28].flatMap((from) => ids({ sort, from, count: 7 }));
    expect(paged).toEqual(forth);
  });

  it('finds every word anywhere, and signs of patterns are plain signs', () => {
    expect(ids({ search: 'ann 12' })).toEqual(['r12']);
    expect(ids({ search: 'EXAMPLE title r4' })).toEqual(['r4']);
    expect(ids({ search: '100%' })).toEqual(['r4']);
    expect(ids({ search: 'client_x' })).toEqual(['r4']);
    expect(ids({ search: '%' })).toEqual(['r4']);
    expect(ids({ search: "'; DROP TABLE runs; --" })).toEqual([]);
  });

  it('filters by seal, open findings and date', () => {
    store.index.sealIs('r5', 'changed', 'k', '2026-01-02T00:00:00.000Z');
    expect(ids({ seal: 'changed' })).toEqual(['r5']);
    expect(ids({ onlyOpen: true }).every((id) => Number(id.slice(1)) % 4 > 0)).toBe(true);
    expect(ids({ since: '2026-01-03', before: '2026-01-04' }).sort()).toEqual(['r12', 'r2', 'r22']);
    // A run of which nobody knows the date began before none; one that names a zone goes by its moment in UTC.
    const again = (startedAt: string) => store.index.lookedAt('r5', looked(5, { startedAt }), new Set());
    again('');
    expect(ids({ before: '2030-01' })).not.toContain('r5');
    again('2026-07-01T04:30:00Z');
    expect(ids({ since: '2026-07' })).toEqual(['r5']);
    again(looked(5).startedAt);
    expect(store.index.ids({ seal: 'changed' })).toEqual(['r5']);
    expect(store.index.sealsToCheck(3)).toEqual(['r5']);
  });

  it('a run whose record goes on waits to be looked at again, and so do all when the rules change', () => {
    expect(store.index.waiting(5)).toEqual({ total: 1, runIds: ['r29'] });
    const event = { timeS: 1, event: 'note', emitter: '', note: '' };
    store.openRun('r7')?.appendEvent({ id: 'note-0001', event, who: 'x', wallAt: '' });
    expect(store.index.waiting(5).runIds).toEqual(['r7', 'r29']);
    store.index.rulesAre('v1');
    expect(store.index.waiting(0).total).toBe(2);
    store.index.rulesAre('v2');
    expect(store.index.waiting(0).total).toBe(30);
  });

  it('a run that is found otherwise than before waits to be looked at again, one found the same does not', () => {
    const waits = (): boolean => store.index.get('r8')?.stale === true;
    const when = '2026-01-02T00:00:00.000Z';
    store.index.sealIs('r8', 'intact', 'k', when);
    store.index.lookedAt('r8', looked(8), new Set());
    store.index.sealIs('r8', 'intact', 'k', when);
    expect(waits()).toBe(false);
    store.index.sealIs('r8', 'changed', 'k', when);
    expect(waits()).toBe(true);
    store.index.lookedAt('r8', looked(8), new Set());
    expect(waits()).toBe(false);
    store.index.sealIs('r8', 'unsigned', '', when);
    store.index.lookedAt('r8', looked(8), new Set());
  });

  it('keeps what was worked out, and counts what is still open', () => {
    expect(store.index.page('r6')).toBe('{"page":6}');
    expect(store.index.page('r29')).toBeNull();
    expect(store.index.figures({ search: 'title', since: undefined, before: undefined })).toHaveLength(29);
    expect(store.index.figuresOf('r6')).toEqual([{ runId: 'r6', figures: '{"i":6}' }]);
    store.index.lookedAt('r3', looked(3), new Set(['f0']));
    expect(store.index.get('r3')).toMatchObject({ findings: 3, openFindings: 1, worst: 3 });
    store.index.openIs('r3', 0, null);
    expect(store.index.get('r3')).toMatchObject({ findings: 3, openFindings: 0, worst: null });
  });
});

describe('what the office keeps beside the records', () => {
  it('comments are added, in order, and never changed or taken away', () => {
    const comment = {
      kind: 'comment',
      finding: '',
      by: 'A',
      text: 'x',
      writtenAt: '2026-01-01T00:00:00.000Z',
    } as const;
    const before = store.openRun('r1')?.events();
    store.office.addComment('r1', comment);
    store.office.addComment('r1', { ...comment, kind: 'sign-off', text: '' });
    expect(store.office.comments('r1').map((c) => c.kind)).toEqual(['comment', 'sign-off']);
    expect(store.office.comments('r2')).toEqual([]);
    expect(store.openRun('r1')?.events()).toEqual(before);
  });

  it('another password ends the sessions of the old one', () => {
    const person = { name: 'Ann', role: 'auditor', password: 'h1', madeAt: '2026-01-01' } as const;
    store.office.putPerson(person);
    store.office.putSession({ hash: 'h', name: 'Ann', role: 'auditor', until: '2027-01-01' });
    expect(store.office.person('ANN')).toEqual(person);
    store.office.putPerson({ ...person, name: 'ann', password: 'h2' });
    expect(store.office.session('h')).toBeNull();
    expect(store.office.people()).toHaveLength(1);
    store.office.putSession({ hash: 'h', name: 'Ann', role: 'auditor', until: '2027-01-01' });
    expect(store.office.removePerson('aNN')).toBe(true);
    expect(store.office.session('h')).toBeNull();
    expect(store.office.removePerson('Ann')).toBe(false);
  });

  it('a name is the same in large and small letters of every alphabet, however an accent is written', () => {
    const person = { name: 'Änne Łoś', role: 'auditor', password: 'h1', madeAt: '2026-01-01' } as const;
    store.office.putPerson(person);
    const others = ['änne łoś', 'ÄNNE ŁOŚ', 'änne łoś'.normalize('NFD')];
    for (const name of others) expect(store.office.person(name)).toEqual(person);
    store.office.putSession({ hash: 'h', name: person.name, role: 'auditor', until: '2027-01-01' });
    store.office.putPerson({ ...person, name: 'änne łoś', password: 'h2' });
    expect(store.office.people()).toEqual([{ ...person, password: 'h2' }]);
    expect(store.office.session('h')).toBeNull();
    expect(store.office.removePerson('ÄNNE łoś')).toBe(true);
    expect(store.office.people()).toEqual([]);
  });

  it('two that a folder of before took for different are each found by the very name, and go one by one', () => {
    const before = join(folder, 'before');
    openStore(before).close();
    const db = new DatabaseSync(join(before, 'limpid.sqlite'));
    const add = db.prepare(
      `INSERT INTO people (name, role, password, made_at) VALUES (?, 'engineer', ?, '2026-01-01')`,
    );
    add.run('Ärpad', 'h1');
    add.run('ärpad', 'h2');
    db.close();
    const opened = openStore(before);
    const password = (name: string) => opened.office.person(name)?.password;
    expect([password('Ärpad'), password('ärpad'), password('ÄRPAD')]).toEqual(['h1', 'h2', 'h1']);
    expect(opened.office.removePerson('ärpad')).toBe(true);
    expect(password('ärpad')).toBe('h1');
    expect(opened.office.removePerson('ärpad')).toBe(true);
    expect(opened.office.people()).toEqual([]);
    opened.close();
  });

  it('forgets what ended', () => {
    store.office.putSession({ hash: 'old', name: 'A', role: 'engineer', until: '2026-01-01' });
    store.office.putShare({ hash: 's', runId: 'r1', madeBy: 'A', madeAt: '2026-01-01', until: '2026-06-01' });
    store.office.forgetEnded('2026-03-01');
    expect(store.office.session('old')).toBeNull();
    expect(store.office.share('s')?.runId).toBe('r1');
  });
});
