import { causeOf } from '../../core/message/cause.ts';
import { randomBytes } from 'node:crypto';
import {
  closeSync,
  existsSync,
  fsyncSync,
  mkdirSync,
  openSync,
  readdirSync,
  renameSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { join } from 'node:path';
import type { ExportJob } from '../../core/audit/page-schema.ts';
import { say } from '../../core/message/message.ts';
import { Problem } from '../../core/message/problem.ts';
import { exportZip, fileNameOf } from '../../recording/bulk.ts';
import { sealedFolder } from '../../recording/sealed.ts';
import { zipFiles } from '../../recording/zip.ts';
import type { Store } from '../../store/store.ts';

const keptMs = 24 * 3_600_000;

/**
 * Many runs into one archive, a run at a time between other work. What was written stays for a day, so that the same
 * wish after a break goes on where it was; a download that broke off goes on by its range.
 */
export class BulkExports {
  readonly #data: string;
  readonly #store: Store;
  readonly #nowMs: () => number;
  readonly #jobs = new Map<string, ExportJob>();
  #stopped = false;

  constructor(data: string, store: Store, nowMs: () => number) {
    this.#data = data;
    this.#store = store;
    this.#nowMs = nowMs;
  }

  get #folder(): string {
    return join(this.#data, 'exports');
  }

  start(runIds: readonly string[]): ExportJob {
    this.#forgetOld();
    const id = randomBytes(9).toString('base64url');
    const wanted = [...new Set(runIds)];
    const job: ExportJob = { id, state: 'working', done: 0, total: wanted.length, bytes: 0, refused: [] };
    this.#jobs.set(id, job);
    void this.#work(id, wanted);
    return job;
  }

  job(id: string): ExportJob | null {
    return this.#jobs.get(id) ?? null;
  }

  file(id: string): string | null {
    const path = join(this.#folder, `${id}.zip`);
    return this.#jobs.get(id)?.state === 'ready' && existsSync(path) ? path : null;
  }

  stop(): void {
    this.#stopped = true;
  }

  #change(id: string, change: Partial<ExportJob>): void {
    const job = this.#jobs.get(id);
    if (job) this.#jobs.set(id, { ...job, ...change });
  }

  async #work(id: string, runIds: readonly string[]): Promise<void> {
    const parts: { name: string; path: string }[] = [];
    const refused: ExportJob['refused'] = [];
    try {
      mkdirSync(this.#folder, { recursive: true });
      for (const [i, runId] of runIds.entries()) {
        await new Promise((go) => setImmediate(go));
        if (this.#stopped) return;
        try {
          parts.push(this.#one(runId));
        } catch (error) {
          if (!(error instanceof Problem)) throw error;
          refused.push({ runId, why: say(error) });
        }
        this.#change(id, { done: i + 1, refused: [...refused] });
      }
      const path = join(this.#folder, `${id}.zip`);
      const handle = openSync(`${path}.part`, 'w');
      try {
        zipFiles(parts, (piece) => writeFileSync(handle, piece));
        fsyncSync(handle);
      } finally {
        closeSync(handle);
      }
      renameSync(`${path}.part`, path);
      this.#change(id, { state: 'ready', bytes: statSync(path).size });
    } catch (error) {
      const why = causeOf(error);
      this.#change(id, { state: 'failed', refused: [...refused, { runId: '', why }] });
    }
  }

  /** The archive of one run: kept as long as the run stays as it is. */
  #one(runId: string): { name: string; path: string } {
    const run = this.#store.openRun(runId);
    if (!run) throw new Problem('run.unknown', { runId, known: '' });
    run.keepSamples();
    const name = `${fileNameOf(runId)}.zip`;
    const mark = run.events().at(-1)?.hash.slice(0, 12) ?? 'empty';
    const isSealed = existsSync(sealedFolder(this.#data, runId));
    const path = join(this.#folder, `${fileNameOf(runId)}-${mark}${isSealed ? '-sealed' : ''}.run.zip`);
    // Comments beside a sealed record may have grown.
    if (isSealed || !existsSync(path)) exportZip(this.#data, run, path);
    return { name, path };
  }

  #forgetOld(): void {
    if (!existsSync(this.#folder)) return;
    for (const name of readdirSync(this.#folder)) {
      const path = join(this.#folder, name);
      if (this.#nowMs() - statSync(path).mtimeMs > keptMs) rmSync(path, { force: true });
    }
  }
}
