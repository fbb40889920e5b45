import { existsSync } from 'node:fs';
import { type CommentView, type LookedAtRun, lookedAtSchema } from '../../core/audit/page-schema.ts';
import { Problem } from '../../core/message/problem.ts';
import { readComments, sealedFolder } from '../../recording/sealed.ts';
import type { StoredCheck } from '../../recording/stored.ts';
import type { IndexedRun } from '../../store/run-index.ts';
import type { RunStore, Store } from '../../store/store.ts';
import { recordOfRun } from '../report-input.ts';
import { Traces } from './traces.ts';

/** The runs of a data folder, read. What asks for a run that is not there throws Problem. */
export class KeptRuns {
  readonly data: string;
  readonly store: Store;
  readonly wallMs: () => number;
  readonly traces = new Traces();

  constructor(data: string, store: Store, wallMs: () => number) {
    this.data = data;
    this.store = store;
    this.wallMs = wallMs;
  }

  run(runId: string): RunStore {
    const run = this.store.openRun(runId);
    if (!run) throw new Problem('run.unknown', { runId, known: '' });
    return run;
  }

  /** Its row of the list. */
  row(runId: string): IndexedRun {
    const row = this.store.index.get(runId);
    if (!row) throw new Problem('run.unknown', { runId, known: '' });
    return row;
  }

  /** The run that the bridge is on; null once its record is sealed, for then it changes no more. */
  underWay(): string | null {
    const current = this.store.currentRunId();
    return current === null || existsSync(sealedFolder(this.data, current)) ? null : current;
  }

  /** Its record beside what was found against it. */
  record(run: RunStore, check: StoredCheck) {
    return recordOfRun(run, { data: this.data }, this.nowIso(), check);
  }

  /** Of the store, and those that came with a sealed record from elsewhere. */
  comments(runId: string): CommentView[] {
    const ours = this.store.office.comments(runId);
    const times = new Set(ours.map((c) => c.writtenAt));
    const theirs = readComments(sealedFolder(this.data, runId))
      .filter((c) => !times.has(c.written_at))
      .map((c): CommentView => ({ kind: 'comment', finding: '', by: c.by, text: c.text, writtenAt: c.written_at }));
    return [...ours, ...theirs].toSorted((a, b) => (a.writtenAt < b.writtenAt ? -1 : 1));
  }

  /** As it was looked at last; null: not yet, or by a version that wrote something else. */
  looked(runId: string): LookedAtRun | null {
    const text = this.store.index.page(runId);
    if (text === null) return null;
    const parsed = lookedAtSchema.safeParse(JSON.parse(text));
    return parsed.success ? parsed.data : null;
  }

  nowIso(): string {
    return new Date(this.wallMs()).toISOString();
  }
}
