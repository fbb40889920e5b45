import { causeOf } from '../../core/message/cause.ts';
import { severityNames, type LookedAtRun } from '../../core/audit/page-schema.ts';
import { Problem } from '../../core/message/problem.ts';
import type { StoredCheck } from '../../recording/stored.ts';
import { closedIn } from './comment-words.ts';
import type { rulesOf } from './firm-rules.ts';
import type { KeptRuns } from './kept-runs.ts';
import type { Looker } from './look-work.ts';

export interface LooksOptions {
  readonly looker: Looker;
  readonly rules: ReturnType<typeof rulesOf>;
  /** Holds a run against its chain and seal, and keeps what came of it. */
  readonly check: (runId: string) => Promise<StoredCheck>;
  /** Says something for the log. */
  readonly log: (line: string) => void;
}

/** Pages come first: between two runs that are looked at in the background. */
const restMs = 200;
const liveLookMs = 60_000;
const sealLookMs = 24 * 3_600_000;

/** Every run is held to the rules once, in the background, and again when its record or the rules change. */
export class Looks {
  readonly #runs: KeptRuns;
  readonly #options: LooksOptions;
  readonly #looking = new Map<string, Promise<void>>();
  /** Runs whose look went wrong, so that they are not tried for ever. */
  readonly #failed = new Map<string, string>();
  readonly #lookedAtMs = new Map<string, number>();
  #timer: NodeJS.Timeout | null = null;
  #stopped = false;

  constructor(runs: KeptRuns, options: LooksOptions) {
    this.#runs = runs;
    this.#options = options;
    runs.store.index.rulesAre(options.rules.mark);
    this.later();
  }

  async all(tell: (done: number, total: number) => void): Promise<void> {
    const { total } = this.#runs.store.index.waiting(0);
    for (let done = 0; ; done++) {
      const next = this.#runs.store.index.waiting(this.#failed.size + 1).runIds.find((id) => !this.#failed.has(id));
      if (next === undefined) return;
      await this.look(next);
      tell(done + 1, total);
    }
  }

  /** Those under way are waited for. */
  async stop(): Promise<void> {
    this.#stopped = true;
    if (this.#timer) clearTimeout(this.#timer);
    await Promise.allSettled(this.#looking.values());
    await this.#options.looker.stop();
  }

  /** In a while, one run of those that wait; never the one under way, which changes with every event. */
  later(): void {
    if (this.#stopped || this.#timer) return;
    this.#timer = setTimeout(() => {
      this.#timer = null;
      const current = this.#runs.underWay();
      const { runIds } = this.#runs.store.index.waiting(this.#failed.size + 2);
      const next = runIds.find((id) => id !== current && !this.#failed.has(id));
      if (next !== undefined) void this.look(next).then(() => this.later());
      else this.#checkOldestSeal();
    }, restMs);
    this.#timer.unref();
  }

  /** Sealed files are looked at again once in a while, so that the list does not go by what was long ago. */
  #checkOldestSeal(): void {
    const [runId] = this.#runs.store.index.sealsToCheck(1);
    const last = runId === undefined ? null : this.#runs.row(runId).sealCheckedAt;
    // Of a clock that was set back the last look lies ahead: that is no reason to wait for it.
    if (runId === undefined || (last !== null && Math.abs(this.#runs.wallMs() - Date.parse(last)) < sealLookMs)) return;
    this.#options.check(runId).then(
      () => this.later(),
      (error: unknown) => this.#options.log(`The seal of ${runId} could not be looked at: ${String(error)}`),
    );
  }

  /** The run under way changes all the time, and one that cannot be read stays so: they are looked at once in a while only. */
  isDue(runId: string): boolean {
    if (runId !== this.#runs.underWay() && !this.#failed.has(runId)) return true;
    const last = this.#lookedAtMs.get(runId);
    return last === undefined || Math.abs(this.#runs.wallMs() - last) > liveLookMs;
  }

  look(runId: string): Promise<void> {
    const known = this.#looking.get(runId);
    if (known) return known;
    this.#lookedAtMs.set(runId, this.#runs.wallMs());
    const work = this.#lookNow(runId)
      .then(() => void this.#failed.delete(runId))
      .catch((error: unknown) => {
        const why = causeOf(error);
        this.#failed.set(runId, why);
        if (!this.#stopped) this.#options.log(`The run ${runId} could not be looked at: ${why}`);
      })
      .finally(() => this.#looking.delete(runId));
    this.#looking.set(runId, work);
    return work;
  }

  async #lookNow(runId: string): Promise<void> {
    const run = this.#runs.run(runId);
    const check = await this.#options.check(runId);
    const found = this.#runs.row(runId).seal;
    const record = this.#runs.record(run, check);
    const { page, summary } = await this.#options.looker.look({
      kind: 'look',
      record,
      columns: this.#runs.traces.of(run),
      settings: this.#options.rules.settings,
      rules: this.#options.rules.mark,
    });
    if (this.#stopped) return;
    const { startedAt, engineer, rig } = summary;
    // Names may stand in a file of their own, which a copy can be without.
    const apart = record.beside?.details;
    const names = typeof apart === 'object' && apart !== null ? apart : null;
    const [site, client] = [names?.site || summary.site, names?.client || summary.client];
    const keys = page.findings.map((f) => ({ key: f.key, rank: severityNames.indexOf(f.severity) + 1 }));
    const closed = closedIn(this.#runs.comments(runId));
    const open = new Set(keys.map((k) => k.key).filter((key) => !closed.has(key)));
    this.#runs.store.index.lookedAt(
      runId,
      {
        startedAt,
        site,
        engineer,
        client,
        rig,
        durationS: page.endS,
        findings: keys,
        rules: this.#options.rules.mark,
        figures: JSON.stringify(summary),
        page: JSON.stringify(page),
      },
      open,
    );
    // Found otherwise while this was worked out: then once more.
    if (this.#runs.row(runId).seal !== found) this.#runs.store.index.lookAgain(runId);
  }

  /** As its record stands now. Throws Problem: it cannot be looked at. */
  async lookedNow(runId: string): Promise<LookedAtRun> {
    if (this.#runs.row(runId).stale || this.#runs.looked(runId) === null) await this.look(runId);
    const looked = this.#runs.looked(runId);
    if (looked === null) throw new Problem('office-not-looked', { runId, why: this.#failed.get(runId) ?? '' });
    return looked;
  }

  /** After a finding was closed or opened again. */
  countOpen(runId: string): void {
    const looked = this.#runs.looked(runId);
    if (!looked) return;
    const closed = closedIn(this.#runs.comments(runId));
    const open = looked.findings.filter((f) => !closed.has(f.key));
    const worst = open.length > 0 ? Math.min(...open.map((f) => severityNames.indexOf(f.severity) + 1)) : null;
    this.#runs.store.index.openIs(runId, open.length, worst);
  }
}
