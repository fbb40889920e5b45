import { z } from 'zod';
import { comparable } from '../core/audit/person-name.ts';
import type { Database } from './database.ts';

export const roles = ['engineer', 'auditor', 'administrator'] as const;
export type Role = (typeof roles)[number];

/** What the office said of a run, beside its record: never changed, never taken away. */
export interface Comment {
  /** `close` and `reopen` are of one finding; `sign-off` is of the whole run. */
  readonly kind: 'comment' | 'sign-off' | 'close' | 'reopen';
  /** Id of the finding; '' when it is of the run. */
  readonly finding: string;
  readonly by: string;
  readonly text: string;
  /** ISO 8601 UTC. */
  readonly writtenAt: string;
}

export interface Person {
  readonly name: string;
  readonly role: Role;
  /** As `hashPassword` made it. */
  readonly password: string;
  readonly madeAt: string;
}

export interface Session {
  readonly hash: string;
  readonly name: string;
  readonly role: Role;
  /** ISO 8601 UTC. */
  readonly until: string;
}

/** A link that shows one run, to whoever holds it, for a while. */
export interface Share {
  readonly hash: string;
  readonly runId: string;
  readonly madeBy: string;
  readonly madeAt: string;
  readonly until: string;
}

/** What is kept of the office, beside the records. */
export interface Office {
  comments(runId: string): Comment[];
  /** On the disk when it returns. */
  addComment(runId: string, comment: Comment): void;
  people(): Person[];
  /** Names are the same in large and small letters, of every alphabet. */
  person(name: string): Person | null;
  putPerson(person: Person): void;
  /** Takes the person's sessions away, too. False: there is no such person. */
  removePerson(name: string): boolean;
  session(hash: string): Session | null;
  putSession(session: Session): void;
  removeSession(hash: string): void;
  share(hash: string): Share | null;
  shares(runId: string): Share[];
  putShare(share: Share): void;
  removeShare(hash: string): void;
  /** Takes away sessions and links that ended before `now` (ISO 8601 UTC). */
  forgetEnded(now: string): void;
}

const role = z.enum(roles);
const commentRow = z.object({
  kind: z.enum(['comment', 'sign-off', 'close', 'reopen']),
  finding: z.string(),
  by: z.string(),
  text: z.string(),
  writtenAt: z.string(),
});
const personRow = z.object({ name: z.string(), role, password: z.string(), madeAt: z.string() });
const sessionRow = z.object({ hash: z.string(), name: z.string(), role, until: z.string() });
const shareRow = z.object({
  hash: z.string(),
  runId: z.string(),
  madeBy: z.string(),
  madeAt: z.string(),
  until: z.string(),
});

export function office(db: Database): Office {
  const sql = {
    comments: db.statement(
      'SELECT kind, finding, by, text, written_at AS writtenAt FROM comments JOIN runs USING (run) WHERE run_id = ? ORDER BY comment',
    ),
    addComment: db.statement(
      'INSERT INTO comments (run, kind, finding, by, text, written_at) VALUES ((SELECT run FROM runs WHERE run_id = ?), ?, ?, ?, ?, ?)',
    ),
    people: db.statement('SELECT name, role, password, made_at AS madeAt FROM people ORDER BY name'),
    addPerson: db.statement('INSERT INTO people (name, role, password, made_at) VALUES (?, ?, ?, ?)'),
    changePerson: db.statement('UPDATE people SET role = ?, password = ? WHERE name = ?'),
    removePerson: db.statement('DELETE FROM people WHERE name = ?'),
    session: db.statement('SELECT hash, name, role, until FROM sessions WHERE hash = ?'),
    putSession: db.statement(
      'INSERT INTO sessions (hash, name, role, until) VALUES (?, ?, ?, ?) ON CONFLICT (hash) DO UPDATE SET until = excluded.until',
    ),
    removeSession: db.statement('DELETE FROM sessions WHERE hash = ?'),
    sessionNames: db.statement('SELECT DISTINCT name FROM sessions'),
    removeSessionsOf: db.statement('DELETE FROM sessions WHERE name = ?'),
    share: db.statement(
      'SELECT hash, run_id AS runId, made_by AS madeBy, made_at AS madeAt, until FROM shares JOIN runs USING (run) WHERE hash = ?',
    ),
    shares: db.statement(
      'SELECT hash, run_id AS runId, made_by AS madeBy, made_at AS madeAt, until FROM shares JOIN runs USING (run) WHERE run_id = ? ORDER BY made_at',
    ),
    putShare: db.statement(
      'INSERT INTO shares (hash, run, made_by, made_at, until) VALUES (?, (SELECT run FROM runs WHERE run_id = ?), ?, ?, ?)',
    ),
    removeShare: db.statement('DELETE FROM shares WHERE hash = ?'),
    endedSessions: db.statement('DELETE FROM sessions WHERE until < ?'),
    endedShares: db.statement('DELETE FROM shares WHERE until < ?'),
  };
  const kept = (work: () => void): void => db.transaction(true, work);
  const first = <T>(schema: z.ZodType<T>, rows: unknown[]): T | null =>
    rows.length > 0 ? schema.parse(rows[0]) : null;
  const people = (): Person[] => sql.people.rows().map((r) => personRow.parse(r));
  // SQLite's NOCASE knows the letters of ASCII alone. A folder of before may hold two people who are one by now: each is
  // still found by the very name.
  const find = (name: string): Person | null => {
    const all = people();
    const same = comparable(name);
    return all.find((p) => p.name === name) ?? all.find((p) => comparable(p.name) === same) ?? null;
  };
  const endSessionsOf = (name: string): void => {
    const names = sql.sessionNames.rows().map((r) => z.object({ name: z.string() }).parse(r).name);
    for (const one of names.filter((n) => comparable(n) === comparable(name))) sql.removeSessionsOf.run(one);
  };
  return {
    comments: (runId) => sql.comments.rows(runId).map((r) => commentRow.parse(r)),
    addComment: (runId, c) => kept(() => sql.addComment.run(runId, c.kind, c.finding, c.by, c.text, c.writtenAt)),
    people,
    person: find,
    putPerson: (p) =>
      kept(() => {
        const known = find(p.name);
        if (known) sql.changePerson.run(p.role, p.password, known.name);
        else sql.addPerson.run(p.name, p.role, p.password, p.madeAt);
        // Another password or role ends what the old one opened.
        endSessionsOf(p.name);
      }),
    removePerson(name) {
      const known = find(name);
      if (!known) return false;
      kept(() => {
        sql.removePerson.run(known.name);
        endSessionsOf(known.name);
      });
      return true;
    },
    session: (hash) => first(sessionRow, sql.session.rows(hash)),
    putSession: (s) => kept(() => sql.putSession.run(s.hash, s.name, s.role, s.until)),
    removeSession: (hash) => kept(() => sql.removeSession.run(hash)),
    share: (hash) => first(shareRow, sql.share.rows(hash)),
    shares: (runId) => sql.shares.rows(runId).map((r) => shareRow.parse(r)),
    putShare: (s) => kept(() => sql.putShare.run(s.hash, s.runId, s.madeBy, s.madeAt, s.until)),
    removeShare: (hash) => kept(() => sql.removeShare.run(hash)),
    forgetEnded: (now) =>
      kept(() => {
        sql.endedSessions.run(now);
        sql.endedShares.run(now);
      }),
  };
}
