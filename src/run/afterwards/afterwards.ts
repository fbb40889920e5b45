import { join } from 'node:path';
import {
  type Again,
  type CommentView,
  type RunPage,
  type RunRow,
  severityNames,
  type SealView,
  type TakenIn,
} from '../../core/audit/page-schema.ts';
import type { Grouping } from '../../core/audit/across.ts';
import type { AcrossView, SideBySide } from '../../core/audit/across-schema.ts';
import { pickByLot } from '../../core/audit/by-lot.ts';
import { lineSettingsSchema } from '../../core/line/settings.ts';
import { type Message, say } from '../../core/message/message.ts';
import { Problem } from '../../core/message/problem.ts';
import { sampleKeys } from '../../core/quantity/sample.ts';
import { takeInZip } from '../../recording/bulk.ts';
import { addComment, knownKeys, sealedFolder, sealNotHere } from '../../recording/sealed.ts';
import { type StoredCheck, storedCheck } from '../../recording/stored.ts';
import { isFile } from '../../recording/text-file.ts';
import type { AuditPort, Download, FileOptions, RunFile, RunQuery } from '../../server/audit-port.ts';
import { type Columns, decimate } from '../../store/decimate.ts';
import type { IndexedRun, SealState } from '../../store/run-index.ts';
import type { RunStore, Store } from '../../store/store.ts';
import { chained } from '../audit-input.ts';
import { acrossRuns, sideBySide } from './across-runs.ts';
import { againView } from './again-view.ts';
import { BulkExports } from './bulk-export.ts';
import { closedIn, spoken } from './comment-words.ts';
import { fileOfRun } from './files-of-run.ts';
import { rulesOf } from './firm-rules.ts';
import { KeptRuns } from './kept-runs.ts';
import type { Looker } from './look-work.ts';
import { Looks } from './looks.ts';
import { channelsWithValues } from './traces.ts';
import { withUpload } from './upload.ts';

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

/** The office's view of the runs of a store. Throws Problem: the firm's rules file cannot be used. */
export function openAfterwards(options: AfterwardsOptions): Afterwards {
  return new OfficeOfStore(options, rulesOf(options.data));
}

class OfficeOfStore implements Afterwards {
  readonly people: Store['office'];
  readonly #runs: KeptRuns;
  readonly #looker: Looker;
  readonly #looks: Looks;
  readonly #exports: BulkExports;

  constructor({ data, store, looker, wallMs, log }: AfterwardsOptions, rules: ReturnType<typeof rulesOf>) {
    this.people = store.office;
    this.#runs = new KeptRuns(data, store, wallMs);
    this.#looker = looker;
    this.#exports = new BulkExports(data, store, wallMs);
    this.#looks = new Looks(this.#runs, { looker, rules, log, check: (runId) => this.#check(runId) });
  }

  list(query: RunQuery) {
    this.#looks.later();
    const { total, rows } = this.#runs.store.index.list(query);
    const current = this.#runs.underWay();
    const waiting = this.#runs.store.index.waiting(0).total;
    return { total, from: query.from, rows: rows.map((row) => rowOf(row, current)), waiting };
  }

  pick(query: RunQuery, count: number, seed: string) {
    const runIds = this.#runs.store.index.ids(query);
    const lot = pickByLot(runIds, count, seed);
    return { seed: lot.seed, of: lot.of, runs: [...lot.picked] };
  }

  has(runId: string): boolean {
    return this.#runs.store.index.get(runId) !== null;
  }

  page(runId: string): RunPage {
    const run = this.#runs.run(runId);
    const row = this.#runs.row(runId);
    if (row.stale && this.#looks.isDue(runId)) void this.#looks.look(runId);
    const columns = this.#columnsOf(run);
    const kept = this.#runs.looked(runId);
    const comments = this.#runs.comments(runId);
    const signed = comments.findLast((c) => c.kind === 'sign-off');
    return {
      run: rowOf(this.#runs.row(runId), this.#runs.underWay()),
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
    const run = this.#runs.run(runId);
    const endS = Math.max(1, run.lastTimeS());
    const { stepS, timeS, values } = decimate(
      this.#runs.traces.drawn(run),
      keys,
      fromS,
      Math.min(toS, endS + 1),
      buckets,
    );
    const filled = Object.entries(values).map(([key, ys]): [string, (number | null)[]] => [key, ys ?? []]);
    return { stepS, timeS, values: Object.fromEntries(filled) };
  }

  async again(runId: string, request: { settings: Record<string, number>; hindsight: boolean }): Promise<Again> {
    // Refused here, where the reason can be told.
    lineSettingsSchema.parse(request.settings);
    const run = this.#runs.run(runId);
    const began = this.#runs.wallMs();
    const done = await this.#looker.again({
      kind: 'again',
      record: { ...chained(run.head, run.events()), seal: null },
      columns: this.#runs.traces.of(run),
      settings: request.settings,
      hindsight: request.hindsight,
    });
    return { ...againView(done, this.#runs.looked(runId)), tookMs: Math.max(0, this.#runs.wallMs() - began) };
  }

  /** Where they cannot be read, the list says from then on that the run was changed. */
  #columnsOf(run: RunStore): Columns {
    try {
      return this.#runs.traces.of(run);
    } catch (error) {
      void this.#looks.look(run.head.runId);
      throw error;
    }
  }

  /** A sealed run of eight hours takes seconds: its files are read away from the thread that serves the run under way. */
  async #check(runId: string): Promise<StoredCheck & { readonly state: SealState; readonly gone: Message | null }> {
    const { data, store } = this.#runs;
    const run = this.#runs.run(runId);
    const checkedAt = this.#runs.nowIso();
    const sealed = await this.#looker.seal({ kind: 'seal', folder: sealedFolder(data, runId) });
    const check = storedCheck(data, run, sealed);
    const gone = sealed ? null : sealNotHere(data, run);
    const state = stateOf(check, gone);
    store.index.sealIs(runId, state, sealed?.seal.fingerprint ?? '', checkedAt);
    return { ...check, state, gone };
  }

  async seal(runId: string): Promise<SealView> {
    const { state, gone, faults, sealed } = await this.#check(runId);
    const { seal, fingerprint = '' } = sealed?.seal ?? {};
    // Where it is another than before, the run waits for a look.
    this.#looks.later();
    return {
      state,
      checkedAt: this.#runs.row(runId).sealCheckedAt ?? '',
      faults: [...(gone ? [gone] : []), ...faults].map(say),
      fingerprint,
      keyName: knownKeys(this.#runs.data).get(fingerprint.replaceAll(' ', '')) ?? null,
      sealedAt: seal?.sealed_at ?? '',
      simulated: seal?.simulated ?? false,
    };
  }

  comment(runId: string, comment: Omit<CommentView, 'writtenAt'>): void {
    if (comment.kind === 'close' || comment.kind === 'reopen') this.#needFinding(runId, comment.finding, comment.kind);
    const writtenAt = this.#runs.nowIso();
    const text = comment.text.replace(/\p{Surrogate}/gu, '\ufffd');
    this.#runs.store.office.addComment(runId, { ...comment, text, writtenAt });
    // Beside the signed files too, so that it leaves with them; the signature does not cover it.
    if (isFile(join(sealedFolder(this.#runs.data, runId), 'seal.json')))
      addComment(this.#runs.data, runId, { by: comment.by, text: spoken({ ...comment, text }), written_at: writtenAt });
    this.#looks.countOpen(runId);
  }

  /**
   * Nobody closes what the audit has yet to find, nor what somebody closed already: of two people at once the second is told.
   * One that the rules find no more can still be opened again.
   */
  #needFinding(runId: string, finding: string, kind: 'close' | 'reopen'): void {
    const looked = this.#runs.looked(runId);
    if (!looked) throw new Problem('office-not-looked-yet', { runId });
    const comments = this.#runs.comments(runId);
    const isClosed = closedIn(comments).has(finding);
    if (!isClosed && !looked.findings.some((f) => f.key === finding))
      throw new Problem('office-no-finding', { runId, finding });
    if (isClosed === (kind === 'reopen')) return;
    const last = comments.findLast((c) => c.finding === finding && (c.kind === 'close' || c.kind === 'reopen'));
    const { by = '', writtenAt: at = '', text = '' } = last ?? {};
    throw new Problem(isClosed ? 'office-closed-already' : 'office-open-already', { finding, by, at, text });
  }

  file(runId: string, file: RunFile, options: FileOptions): Promise<Download> {
    const run = this.#runs.run(runId);
    return fileOfRun(
      {
        data: this.#runs.data,
        columns: () => this.#runs.traces.of(run),
        record: async () => this.#runs.record(run, await this.#check(runId)),
        kept: () => this.#runs.looked(runId),
        looked: () => this.#looks.lookedNow(runId),
        page: () => this.page(runId),
        comments: () => this.#runs.comments(runId),
      },
      run,
      file,
      options,
    );
  }

  across(query: RunQuery, by: Grouping, measure: string): AcrossView {
    return acrossRuns(this.#runs.store.index.figures(query), by, measure);
  }

  sideBySide(runIds: readonly string[]): SideBySide {
    return sideBySide(runIds.flatMap((runId) => this.#runs.store.index.figuresOf(runId)));
  }

  async takeIn(name: string, body: AsyncIterable<Uint8Array>): Promise<TakenIn> {
    const { data, store } = this.#runs;
    try {
      const remarks: string[] = [];
      const { runId, known } = await withUpload(data, body, (path) => {
        const before = store.runCount();
        return {
          runId: takeInZip(data, store, path, (remark) => remarks.push(say(remark))),
          known: store.runCount() === before,
        };
      });
      await this.seal(runId);
      this.#looks.later();
      return { taken: [{ from: name, runId, known, remarks }], refused: [] };
    } catch (error) {
      if (!(error instanceof Problem)) throw error;
      return { taken: [], refused: [{ from: name, code: error.code, why: say(error) }] };
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

  lookAtAll(tell: (done: number, total: number) => void = () => {}): Promise<void> {
    return this.#looks.all(tell);
  }

  async stop(): Promise<void> {
    this.#exports.stop();
    await this.#looks.stop();
  }
}

/** `changed`: something was found against it, sealed or not. */
function stateOf({ faults, sealed }: StoredCheck, gone: Message | null): SealState {
  if (faults.length > 0) return 'changed';
  if (gone) return 'missing';
  return sealed?.seal.seal ? 'intact' : 'unsigned';
}

function rowOf({ worst, ...row }: IndexedRun, current: string | null): RunRow {
  return { ...row, worst: worst === null ? null : (severityNames[worst - 1] ?? null), underWay: row.runId === current };
}
