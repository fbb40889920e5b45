import { Problem } from '../../../src/core/message/problem.ts';
import type { PeopleKeeper } from '../../../src/server/access.ts';
import type { AuditPort } from '../../../src/server/audit-port.ts';

type Kept<K extends 'person' | 'session' | 'share'> = NonNullable<ReturnType<PeopleKeeper[K]>>;

/** Accounts, sessions and links in memory. */
export function fakePeople(): PeopleKeeper {
  const people = new Map<string, Kept<'person'>>();
  const sessions = new Map<string, Kept<'session'>>();
  const shares = new Map<string, Kept<'share'>>();
  return {
    people: () => [...people.values()],
    person: (name) => people.get(name.toLowerCase()) ?? null,
    putPerson: (p) => void people.set(p.name.toLowerCase(), p),
    removePerson: (name) => people.delete(name.toLowerCase()),
    session: (hash) => sessions.get(hash) ?? null,
    putSession: (s) => void sessions.set(s.hash, s),
    removeSession: (hash) => void sessions.delete(hash),
    share: (hash) => shares.get(hash) ?? null,
    shares: (runId) => [...shares.values()].filter((s) => s.runId === runId),
    putShare: (s) => void shares.set(s.hash, s),
    removeShare: (hash) => void shares.delete(hash),
    forgetEnded: () => {},
  };
}

/** An office without runs: whatever gets past the door is refused by a sentence. */
export function fakeAudit(): AuditPort {
  const none = (): never => {
    throw new Problem('run.unknown', { runId: 'r', known: '' });
  };
  return {
    people: fakePeople(),
    list: () => ({ total: 0, from: 0, rows: [], waiting: 0 }),
    pick: (_query, _count, seed) => ({ seed, of: 0, runs: [] }),
    has: () => false,
    page: none,
    trace: none,
    again: none,
    seal: none,
    comment: none,
    file: none,
    across: none,
    sideBySide: none,
    takeIn: none,
    startExport: none,
    exportJob: () => null,
    exportFile: () => null,
  };
}
