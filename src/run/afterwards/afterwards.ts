import { randomBytes } from 'node:crypto';
import { createWriteStream, mkdirSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import {
  type Again,
  type CommentView,
  type LookedAtRun,
  lookedAtSchema,
  type RunPage,
  type RunRow,
  severityNames,
  type SealView,
  type TakenIn,
} from '../../core/audit/page-schema.ts';
import type { AuditSettings } from '../../core/audit/settings.ts';
import type { Grouping } from '../../core/audit/across.ts';
import type { AcrossView, SideBySide } from '../../core/audit/across-schema.ts';
import { pickByLot } from '../../core/audit/by-lot.ts';
import { lineSettingsSchema } from '../../core/line/settings.ts';
import { say } from '../../core/message/message.ts';
import { Problem } from '../../core/message/problem.ts';
import { sampleKeys } from '../../core/quantity/sample.ts';
import { takeInZip } from '../../recording/bulk.ts';
import { addComment, knownKeys, readComments, sealedFolder } from '../../recording/sealed.ts';
import { isFile } from '../../recording/text-file.ts';
import type { AuditPort, Download, FileOptions, RunFile, RunQuery } from '../../server/audit-port.ts';
import { Refused } from '../../server/refuse.ts';
import { decimate } from '../../store/decimate.ts';
import type { IndexedRun } from '../../store/run-index.ts';
import type { RunStore, Store } from '../../store/store.ts';
import { recordOfRun } from '../report-input.ts';
import { acrossRuns, sideBySide } from './across-runs.ts';
import { BulkExports } from './bulk-export.ts';
import { closedIn, spoken } from './comment-words.ts';
import { fileOfRun } from './files-of-run.ts';
import { rulesOf } from './firm-rules.ts';
import { againView } from './again-view.ts';
import type { Looker } from './look-work.ts';
import { channelsWithValues, Traces } from './traces.ts';

export interface AfterwardsOptions {
  readonly data: string;
  readonly store: Store;
  readonly looker: Looker;
  readonly wallMs: () => number;
  /** Says something for the log. */
  readonly log: (line: string) => void;
}

export interface Afterwards extends AuditPort {
  /** Looks at all runs that wait for it; for the command line and tests. */
  lookAtAll(tell?: (done: number, total: number) => void): Promise<void>;
  stop(): Promise<void>;
}

/** Pages come first: between two runs that are looked at in the background. */
const restMs = 200;
const liveLookMs = 60_000;
const sealLookMs = 24 * 3_600_000;
const uploadLimitMb = 300;

/** The office's view of the runs of a store. Throws Problem: the firm's rules file cannot be used. */
export function openAfterwards(options: AfterwardsOptions): Afterwards {
  return new OfficeOfStore(options, rulesOf(options.data));
}

class OfficeOfStore implements Afterwards {
  readonly people: Store['office'];
  readonly #data: string;
  readonly #store: Store;
  readonly #looker: Looker;
  readonly #wallMs: () => number;
  readonly #log: (line: string) => void;
  readonly #settings: AuditSettings;
  readonly #rules: string;
  readonly #traces = new Traces();
  readonly #exports: BulkExports;
  readonly #looking = new Map<string, Promise<void>>();
  /** Runs whose look went wrong, so that they are not tried for ever. */
  readonly #failed = new Map<string, string>();
  readonly #lookedAtMs = new Map<string, number>();
  #timer: NodeJS.Timeout | null = null;
  #stopped = false;

  constructor(options: AfterwardsOptions, rules: ReturnType<typeof rulesOf>) {
    this.#data = options.data;
    this.#store = options.store;
    this.people = options.store.office;
    this.#looker = options.looker;
    this.#wallMs = options.wallMs;
    this.#log = options.log;
    this.#settings = rules.settings;
    this.#rules = rules.mark;
    this.#exports = new BulkExports(options.data, options.store, options.wallMs);
    this.#store.index.rulesAre(this.#rules);
    this.#later();
  }

  list(query: RunQuery) {
    this.#later();
    const { total, rows } = this.#store.index.list(query);
    const current = this.#store.currentRunId();
    const waiting = this.#store.index.waiting(0).total;
    return { total, from: query.from, rows: rows.map((row) => rowOf(row, current)), waiting };
  }

  pick(query: RunQuery, count: number, seed: string) {
    const runIds = this.#store.index.ids(query);
    const lot = pickByLot(runIds, count, seed);
    return { seed: lot.seed, of: lot.of, runs: [...lot.picked] };
  }

  has(runId: string): boolean {
    return this.#store.index.get(runId) !== null;
  }

  page(runId: string): RunPage {
    const run = this.#run(runId);
    const row = this.#row(runId);
    if (row.stale && this.#isDue(runId)) void this.#look(runId);
    const columns = this.#traces.of(run);
    const kept = this.#looked(runId);
    const comments = this.#comments(runId);
    const signed = comments.findLast((c) => c.kind === 'sign-off');
    return {
      run: rowOf(this.#row(runId), this.#store.currentRunId()),
      looked: kept,
      comments,
      closed: [...closedIn(comments)],
      signedOff: signed ? { by: signed.by, at: signed.writtenAt } : null,
      channels: channelsWithValues(columns),
      fromS: columns.timeS[0] ?? 0,
      toS: Math.max(run.lastTimeS(), columns.timeS.at(-1) ?? 0),
    };
  }

  trace(runId: string, wanted: readonly string[], fromS: number, toS: number, buckets: number) {
    const keys = sampleKeys.filter((key) => wanted.length === 0 || wanted.includes(key));
    const run = this.#run(runId);
    const endS = Math.max(1, run.lastTimeS());
    const { stepS, timeS, values } = decimate(this.#traces.drawn(run), keys, fromS, Math.min(toS, endS + 1), buckets);
    const filled = Object.entries(values).map(([key, ys]): [string, (number | null)[]] => [key, ys ?? []]);
    return { stepS, timeS, values: Object.fromEntries(filled) };
  }

  async again(runId: string, request: { settings: Record<string, number>; hindsight: boolean }): Promise<Again> {
    // Refused here, where the reason can be told.
    lineSettingsSchema.parse(request.settings);
    const run = this.#run(runId);
    const began = this.#wallMs();
    const done = await this.#looker.again({
      kind: 'again',
      record: this.#record(run),
      columns: this.#traces.of(run),
      settings: request.settings,
      hindsight: request.hindsight,
    });
    return { ...againView(done, this.#looked(runId)), tookMs: Math.max(0, this.#wallMs() - began) };
  }

  async seal(runId: string): Promise<SealView> {
    const folder = sealedFolder(this.#data, this.#run(runId).head.runId);
    const checkedAt = new Date(this.#wallMs()).toISOString();
    if (!isFile(join(folder, 'seal.json'))) {
      const none = { fingerprint: '', keyName: null, sealedAt: '', simulated: false };
      this.#store.index.sealIs(runId, 'unsigned', '', checkedAt);
      return { state: 'unsigned', checkedAt, faults: [], ...none };
    }
    const check = await this.#looker.seal({ kind: 'seal', folder });
    const state = check.sound && check.seal.state === 'good' ? 'intact' : 'changed';
    this.#store.index.sealIs(runId, state, check.seal.fingerprint, checkedAt);
    return {
      state,
      checkedAt,
      faults: check.faults.map(say),
      fingerprint: check.seal.fingerprint,
      keyName: knownKeys(this.#data).get(check.seal.fingerprint.replaceAll(' ', '')) ?? null,
      sealedAt: check.seal.seal?.sealed_at ?? '',
      simulated: check.seal.seal?.simulated ?? false,
    };
  }

  comment(runId: string, comment: Omit<CommentView, 'writtenAt'>): void {
    const writtenAt = new Date(this.#wallMs()).toISOString();
    const text = comment.text.replace(/\p{Surrogate}/gu, '\ufffd');
    this.#store.office.addComment(runId, { ...comment, text, writtenAt });
    // Beside the signed files too, so that it leaves with them; the signature does not cover it.
    if (isFile(join(sealedFolder(this.#data, runId), 'seal.json')))
      addComment(this.#data, runId, { by: comment.by, text: spoken({ ...comment, text }), written_at: writtenAt });
    this.#countOpen(runId);
  }

  file(runId: string, file: RunFile, options: FileOptions): Promise<Download> {
    const run = this.#run(runId);
    return fileOfRun(
      {
        data: this.#data,
        columns: () => this.#traces.of(run),
        record: () => this.#record(run),
        kept: () => this.#looked(runId),
        looked: () => this.#lookedNow(runId),
        page: () => this.page(runId),
        comments: () => this.#comments(runId),
      },
      run,
      file,
      options,
    );
  }

  across(query: RunQuery, by: Grouping, measure: string): AcrossView {
    return acrossRuns(this.#store.index.figures(query), by, measure);
  }

  sideBySide(runIds: readonly string[]): SideBySide {
    return sideBySide(runIds.flatMap((runId) => this.#store.index.figuresOf(runId)));
  }

  async takeIn(name: string, body: AsyncIterable<Uint8Array>): Promise<TakenIn> {
    const folder = join(this.#data, 'work');
    mkdirSync(folder, { recursive: true });
    const path = join(folder, `upload-${randomBytes(6).toString('hex')}.zip`);
    try {
      let bytes = 0;
      const counted = Readable.from(body).map((piece: Uint8Array) => {
        bytes += piece.length;
        if (bytes > uploadLimitMb << 20) throw new Refused(413, 'office-upload-too-large', { limitMb: uploadLimitMb });
        return piece;
      });
      await pipeline(counted, createWriteStream(path));
      const before = this.#store.index.list({ ...everything, count: 0 }).total;
      const runId = takeInZip(this.#data, this.#store, path);
      const known = this.#store.index.list({ ...everything, count: 0 }).total === before;
      await this.seal(runId);
      this.#later();
      return { taken: [{ from: name, runId, known }], refused: [] };
    } catch (error) {
      if (!(error instanceof Problem)) throw error;
      return { taken: [], refused: [{ from: name, code: error.code, why: say(error) }] };
    } finally {
      rmSync(path, { force: true });
    }
  }

  startExport(runIds: readonly string[]) {
    return this.#exports.start(runIds);
  }

  exportJob(id: string) {
    return this.#exports.job(id);
  }

  exportFile(id: string): Download | null {
    const path = this.#exports.file(id);
    return path === null ? null : { type: 'application/zip', name: 'runs.zip', content: { path } };
  }

  async lookAtAll(tell: (done: number, total: number) => void = () => {}): Promise<void> {
    const { total } = this.#store.index.waiting(0);
    for (let done = 0; ; done++) {
      const next = this.#store.index.waiting(this.#failed.size + 1).runIds.find((id) => !this.#failed.has(id));
      if (next === undefined) return;
      await this.#look(next);
      tell(done + 1, total);
    }
  }

  async stop(): Promise<void> {
    this.#stopped = true;
    if (this.#timer) clearTimeout(this.#timer);
    this.#exports.stop();
    await Promise.allSettled(this.#looking.values());
    await this.#looker.stop();
  }

  /** In a while, one run of those that wait; never the one under way, which changes with every event. */
  #later(): void {
    if (this.#stopped || this.#timer) return;
    this.#timer = setTimeout(() => {
      this.#timer = null;
      const current = this.#store.currentRunId();
      const { runIds } = this.#store.index.waiting(this.#failed.size + 2);
      const next = runIds.find((id) => id !== current && !this.#failed.has(id));
      if (next !== undefined) void this.#look(next).then(() => this.#later());
      else this.#checkOldestSeal();
    }, restMs);
    this.#timer.unref();
  }

  /** Sealed files are looked at again once in a while, so that the list does not go by what was long ago. */
  #checkOldestSeal(): void {
    const [runId] = this.#store.index.sealsToCheck(1);
    const last = runId === undefined ? null : this.#row(runId).sealCheckedAt;
    // Of a clock that was set back the last look lies ahead: that is no reason to wait for it.
    if (runId === undefined || (last !== null && Math.abs(this.#wallMs() - Date.parse(last)) < sealLookMs)) return;
    this.seal(runId).then(
      () => this.#later(),
      (error: unknown) => this.#log(`The seal of ${runId} could not be looked at: ${String(error)}`),
    );
  }

  /** The run under way changes all the time: it is looked at once in a while only. */
  #isDue(runId: string): boolean {
    if (runId !== this.#store.currentRunId()) return true;
    const last = this.#lookedAtMs.get(runId);
    return last === undefined || Math.abs(this.#wallMs() - last) > liveLookMs;
  }

  #look(runId: string): Promise<void> {
    const known = this.#looking.get(runId);
    if (known) return known;
    this.#lookedAtMs.set(runId, this.#wallMs());
    const work = this.#lookNow(runId)
      .catch((error: unknown) => {
        const why = error instanceof Error ? error.message : String(error);
        this.#failed.set(runId, why);
        if (!this.#stopped) this.#log(`The run ${runId} could not be looked at: ${why}`);
      })
      .finally(() => this.#looking.delete(runId));
    this.#looking.set(runId, work);
    return work;
  }

  async #lookNow(runId: string): Promise<void> {
    const run = this.#run(runId);
    if (this.#row(runId).sealCheckedAt === null) await this.seal(runId);
    const record = this.#record(run);
    const { page, summary } = await this.#looker.look({
      kind: 'look',
      record,
      columns: this.#traces.of(run),
      settings: this.#settings,
      rules: this.#rules,
    });
    if (this.#stopped) return;
    const { engineer, rig } = summary;
    // Names may stand in a file of their own, which a copy can be without.
    const apart = record.beside?.details;
    const names = typeof apart === 'object' && apart !== null ? apart : null;
    const [site, client] = [names?.site || summary.site, names?.client || summary.client];
    const keys = page.findings.map((f) => ({ key: f.key, rank: severityNames.indexOf(f.severity) + 1 }));
    const closed = closedIn(this.#comments(runId));
    const open = new Set(keys.map((k) => k.key).filter((key) => !closed.has(key)));
    this.#store.index.lookedAt(
      runId,
      {
        site,
        engineer,
        client,
        rig,
        durationS: page.endS,
        findings: keys,
        rules: this.#rules,
        figures: JSON.stringify(summary),
        page: JSON.stringify(page),
      },
      open,
    );
  }

  async #lookedNow(runId: string): Promise<LookedAtRun> {
    if (this.#row(runId).stale || this.#looked(runId) === null) await this.#look(runId);
    const looked = this.#looked(runId);
    if (looked === null) throw new Problem('office-not-looked', { runId, why: this.#failed.get(runId) ?? '' });
    return looked;
  }

  #looked(runId: string): LookedAtRun | null {
    const text = this.#store.index.page(runId);
    if (text === null) return null;
    const parsed = lookedAtSchema.safeParse(JSON.parse(text));
    return parsed.success ? parsed.data : null;
  }

  #countOpen(runId: string): void {
    const looked = this.#looked(runId);
    if (!looked) return;
    const closed = closedIn(this.#comments(runId));
    const open = looked.findings.filter((f) => !closed.has(f.key));
    const worst = open.length > 0 ? Math.min(...open.map((f) => severityNames.indexOf(f.severity) + 1)) : null;
    this.#store.index.openIs(runId, open.length, worst);
  }

  #run(runId: string): RunStore {
    const run = this.#store.openRun(runId);
    if (!run) throw new Problem('run.unknown', { runId, known: '' });
    return run;
  }

  #row(runId: string): IndexedRun {
    const row = this.#store.index.get(runId);
    if (!row) throw new Problem('run.unknown', { runId, known: '' });
    return row;
  }

  #record(run: RunStore) {
    return recordOfRun(run, { data: this.#data }, new Date(this.#wallMs()).toISOString());
  }

  /** Of the store, and those that came with a sealed record from elsewhere. */
  #comments(runId: string): CommentView[] {
    const ours = this.#store.office.comments(runId);
    const times = new Set(ours.map((c) => c.writtenAt));
    const theirs = readComments(sealedFolder(this.#data, runId))
      .filter((c) => !times.has(c.written_at))
      .map((c): CommentView => ({ kind: 'comment', finding: '', by: c.by, text: c.text, writtenAt: c.written_at }));
    return [...ours, ...theirs].toSorted((a, b) => (a.writtenAt < b.writtenAt ? -1 : 1));
  }
}

const everything: RunQuery = { search: '', sort: 'started', descending: false, from: 0, count: 1 };

function rowOf({ worst, ...row }: IndexedRun, current: string | null): RunRow {
  return { ...row, worst: worst === null ? null : (severityNames[worst - 1] ?? null), underWay: row.runId === current };
}
