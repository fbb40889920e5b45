import { deflateSync, inflateSync } from 'node:zlib';
import { z } from 'zod';
import type { Database, SqlValue } from './database.ts';

export type SealState = 'intact' | 'changed' | 'missing' | 'unsigned';

/** One line of the list of runs: what is known of a run without opening it. */
export interface IndexedRun {
  readonly runId: string;
  readonly startedAt: string;
  readonly title: string;
  readonly site: string;
  readonly engineer: string;
  /** The kit that measured, by its URN. */
  readonly rig: string;
  readonly simulated: boolean;
  readonly durationS: number;
  /** Null: not looked at yet. */
  readonly findings: number | null;
  readonly openFindings: number | null;
  /** Rank of the worst open finding, 1 the worst. */
  readonly worst: number | null;
  readonly seal: SealState;
  readonly sealCheckedAt: string | null;
  /** The record went on, or rules changed, since it was looked at. */
  readonly stale: boolean;
}

/** What an audit of a run worked out, to be found and shown again at once. */
export interface LookedAt {
  /** In UTC, whatever zone the record names, so that it is sorted and filtered by moments; empty: not known. */
  readonly startedAt: string;
  readonly site: string;
  readonly engineer: string;
  readonly client: string;
  readonly rig: string;
  readonly durationS: number;
  /** Keys of all findings with their ranks. */
  readonly findings: readonly { readonly key: string; readonly rank: number }[];
  readonly rules: string;
  /** JSON. */
  readonly figures: string;
  readonly page: string;
}

export const sortKeys = ['started', 'title', 'site', 'engineer', 'rig', 'open', 'seal'] as const;
export type SortKey = (typeof sortKeys)[number];

export interface ListQuery {
  /** Every word must stand somewhere in title, id, place, people or rig. */
  readonly search: string;
  readonly sort: SortKey;
  readonly descending: boolean;
  readonly from: number;
  readonly count: number;
  readonly seal?: SealState | undefined;
  readonly onlyOpen?: boolean | undefined;
  /** Only runs that began from .. to (ISO 8601, half-open). */
  readonly since?: string | undefined;
  readonly before?: string | undefined;
}

export interface RunIndex {
  list(query: ListQuery): { readonly total: number; readonly rows: IndexedRun[] };
  get(runId: string): IndexedRun | null;
  /** Runs that must be looked at again, oldest first, and how many there are. */
  waiting(count: number): { readonly total: number; readonly runIds: string[] };
  /** Every run must be looked at again unless that was done by these rules. */
  rulesAre(rules: string): void;
  lookedAt(runId: string, found: LookedAt, openKeys: ReadonlySet<string>): void;
  page(runId: string): string | null;
  /** Figures of the runs that the query names, as kept by `lookedAt`, oldest first. */
  figures(
    query: Pick<ListQuery, 'search' | 'since' | 'before'>,
  ): { readonly runId: string; readonly figures: string }[];
  /** The same of one run; empty: it was not looked at yet. */
  figuresOf(runId: string): { readonly runId: string; readonly figures: string }[];
  /** Ids of all runs that the query names, oldest first. */
  ids(query: Partial<ListQuery>): string[];
  /** How chain and seal were found; where that is other than before, the run must be looked at again. */
  sealIs(runId: string, state: SealState, key: string, checkedAt: string): void;
  /** Sealed runs whose seal was looked at longest ago. */
  sealsToCheck(count: number): string[];
  openIs(runId: string, open: number, worst: number | null): void;
  /** What stands beside the run is other than when it was looked at: its seal, its names, its photos. */
  lookAgain(runId: string): void;
}

const row = z
  .object({
    run_id: z.string(),
    started_at: z.string(),
    title: z.string(),
    site: z.string(),
    engineer: z.string(),
    rig: z.string(),
    simulated: z.number(),
    duration_s: z.number(),
    findings: z.number().nullable(),
    open: z.number().nullable(),
    worst: z.number().nullable(),
    seal: z.enum(['intact', 'changed', 'missing', 'unsigned']),
    seal_checked_at: z.string().nullable(),
    stale: z.number(),
  })
  .transform(
    (r): IndexedRun => ({
      runId: r.run_id,
      startedAt: r.started_at,
      title: r.title,
      site: r.site,
      engineer: r.engineer,
      rig: r.rig,
      simulated: r.simulated === 1,
      durationS: r.duration_s,
      findings: r.findings,
      openFindings: r.open,
      worst: r.worst,
      seal: r.seal,
      sealCheckedAt: r.seal_checked_at,
      stale: r.stale === 1,
    }),
  );
const countRow = z.object({ n: z.number() });
const idRow = z.object({ run_id: z.string() });
const figuresRow = z.object({ run_id: z.string(), figures: z.string() });

const columns =
  'run_id, started_at, title, site, engineer, rig, simulated, duration_s, findings, open, worst, seal, seal_checked_at, stale';
/** Ties are broken by the run's own number, so that paging neither doubles nor drops a run. */
const orders: Readonly<Record<SortKey, readonly string[]>> = {
  started: ['started_at', 'run'],
  title: ['title', 'run'],
  site: ['site', 'started_at', 'run'],
  engineer: ['engineer', 'started_at', 'run'],
  rig: ['rig', 'started_at', 'run'],
  open: ['open', 'started_at', 'run'],
  seal: ['seal', 'started_at', 'run'],
};

/** Text as part of a LIKE pattern; its escape is `!`. */
const like = (word: string): string => `%${word.replace(/[!%_]/g, (c) => `!${c}`)}%`;

function whereOf(query: Partial<ListQuery>): { sql: string; values: SqlValue[] } {
  const parts: string[] = [];
  const values: SqlValue[] = [];
  const add = (sql: string, ...more: SqlValue[]): void => {
    parts.push(sql);
    values.push(...more);
  };
  for (const word of (query.search ?? '').toLowerCase().split(/\s+/).filter(Boolean).slice(0, 8))
    add("search LIKE ? ESCAPE '!'", like(word.slice(0, 80)));
  if (query.seal) add('seal = ?', query.seal);
  if (query.onlyOpen) add('open > 0');
  if (query.since) add('started_at >= ?', query.since);
  if (query.before) add("started_at <> '' AND started_at < ?", query.before);
  return { sql: parts.length > 0 ? `WHERE ${parts.join(' AND ')}` : '', values };
}

export function runIndex(db: Database): RunIndex {
  const known = new Map<string, ReturnType<Database['statement']>>();
  /** The few shapes of a query, each prepared once. */
  const prepared = (sql: string): ReturnType<Database['statement']> => {
    const statement = known.get(sql) ?? db.statement(sql);
    known.set(sql, statement);
    return statement;
  };
  const rows = (sql: string, ...values: SqlValue[]): unknown[] => prepared(sql).rows(...values);
  const change = (sql: string, ...values: SqlValue[]): void =>
    db.transaction(false, () => prepared(sql).run(...values));

  return {
    list(query) {
      const { sql, values } = whereOf(query);
      const way = query.descending ? 'DESC' : 'ASC';
      const order = orders[query.sort].map((column) => `${column} ${way}`).join(', ');
      const total = countRow.parse(rows(`SELECT count(*) AS n FROM run_index ${sql}`, ...values)[0]).n;
      const found = rows(
        `SELECT ${columns} FROM run_index ${sql} ORDER BY ${order} LIMIT ? OFFSET ?`,
        ...values,
        query.count,
        query.from,
      );
      return { total, rows: found.map((r) => row.parse(r)) };
    },
    get: (runId) =>
      rows(`SELECT ${columns} FROM run_index JOIN runs USING (run, run_id) WHERE runs.run_id = ?`, runId).map((r) =>
        row.parse(r),
      )[0] ?? null,
    waiting: (count) => ({
      total: countRow.parse(rows('SELECT count(*) AS n FROM run_index WHERE stale = 1')[0]).n,
      runIds: rows('SELECT run_id FROM run_index WHERE stale = 1 ORDER BY run LIMIT ?', count).map(
        (r) => idRow.parse(r).run_id,
      ),
    }),
    rulesAre: (rules) =>
      change('UPDATE run_index SET stale = 1 WHERE stale = 0 AND findings IS NOT NULL AND rules <> ?', rules),
    lookedAt(runId, found, openKeys) {
      const open = found.findings.filter((f) => openKeys.has(f.key));
      const worst = open.length > 0 ? Math.min(...open.map((f) => f.rank)) : null;
      const words = [runId, found.site, found.engineer, found.client, found.rig].join(' ').toLowerCase();
      db.transaction(true, () => {
        prepared(
          `UPDATE run_index SET started_at = ?, site = ?, engineer = ?, rig = ?, duration_s = ?, findings = ?, open = ?, worst = ?,
             rules = ?, stale = 0, search = lower(title) || ' ' || ? WHERE run = (SELECT run FROM runs WHERE run_id = ?)`,
        ).run(
          found.startedAt,
          found.site,
          found.engineer,
          found.rig,
          found.durationS,
          found.findings.length,
          open.length,
          worst,
          found.rules,
          words,
          runId,
        );
        prepared(
          `INSERT INTO looked_at (run, figures, page) VALUES ((SELECT run FROM runs WHERE run_id = ?), ?, ?)
             ON CONFLICT (run) DO UPDATE SET figures = excluded.figures, page = excluded.page`,
        ).run(runId, found.figures, deflateSync(Buffer.from(found.page, 'utf8'), { level: 3 }));
      });
    },
    page(runId) {
      const found = rows('SELECT page FROM looked_at JOIN runs USING (run) WHERE run_id = ?', runId)[0];
      if (found === undefined) return null;
      return inflateSync(z.object({ page: z.instanceof(Uint8Array) }).parse(found).page).toString('utf8');
    },
    figures(query) {
      const { sql, values } = whereOf(query);
      const found = rows(
        `SELECT run_id, figures FROM run_index JOIN looked_at USING (run) ${sql} ORDER BY started_at, run`,
        ...values,
      );
      return found.map((r) => figuresRow.parse(r)).map((r) => ({ runId: r.run_id, figures: r.figures }));
    },
    figuresOf: (runId) =>
      rows('SELECT run_id, figures FROM runs JOIN looked_at USING (run) WHERE run_id = ?', runId)
        .map((r) => figuresRow.parse(r))
        .map((r) => ({ runId: r.run_id, figures: r.figures })),
    ids(query) {
      const { sql, values } = whereOf(query);
      return rows(`SELECT run_id FROM run_index ${sql} ORDER BY run`, ...values).map((r) => idRow.parse(r).run_id);
    },
    sealIs: (runId, state, key, checkedAt) =>
      change(
        `UPDATE run_index SET stale = CASE WHEN seal = ? THEN stale ELSE 1 END, seal = ?, sealed_key = ?, seal_checked_at = ?
           WHERE run = (SELECT run FROM runs WHERE run_id = ?)`,
        state,
        state,
        key,
        checkedAt,
        runId,
      ),
    sealsToCheck: (count) =>
      rows(`SELECT run_id FROM run_index WHERE seal <> 'unsigned' ORDER BY seal_checked_at LIMIT ?`, count).map(
        (r) => idRow.parse(r).run_id,
      ),
    openIs: (runId, open, worst) =>
      change(
        'UPDATE run_index SET open = ?, worst = ? WHERE run = (SELECT run FROM runs WHERE run_id = ?)',
        open,
        worst,
        runId,
      ),
    lookAgain: (runId) =>
      change(
        'UPDATE run_index SET stale = 1, seal_checked_at = NULL WHERE run = (SELECT run FROM runs WHERE run_id = ?)',
        runId,
      ),
  };
}
