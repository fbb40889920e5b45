import { causeOf } from '../../core/message/cause.ts';
import { isMainThread, parentPort, Worker, workerData } from 'node:worker_threads';
import { z } from 'zod';
import { type Again, reanalyse } from '../../core/audit/reanalyse.ts';
import { gather } from '../../core/audit/gather.ts';
import type { RunRecord } from '../../core/audit/record.ts';
import type { AuditSettings } from '../../core/audit/settings.ts';
import { verifySealed } from '../../recording/stored.ts';
import type { RecordingCheck } from '../../recording/verify.ts';
import type { ReportInput } from '../../report/gather.ts';
import { type Columns, samplesOf } from '../../store/decimate.ts';
import { type Looked, lookAt } from './look.ts';

/** A run without its samples; these come as columns, which pass between threads without a copy of each. */
export interface LookTask {
  readonly kind: 'look';
  readonly record: Omit<ReportInput, 'samples'>;
  readonly columns: Columns;
  readonly settings: AuditSettings;
  readonly rules: string;
}
export interface AgainTask {
  readonly kind: 'again';
  readonly record: Omit<RunRecord, 'samples'>;
  readonly columns: Columns;
  readonly settings: Readonly<Record<string, number>>;
  readonly hindsight: boolean;
}
function look({ record, columns, settings, rules }: LookTask): Looked {
  return lookAt({ ...record, samples: [...samplesOf(columns)] }, columns, settings, rules);
}

function again({ record, columns, settings, hindsight }: AgainTask): Again {
  const run = gather({ ...record, samples: [...samplesOf(columns)] });
  return reanalyse(run, { hindsight, ...(Object.keys(settings).length > 0 ? { settings } : {}) });
}

/** Hold the sealed files of a folder against their seal, chain and one another; null: there is no such folder. */
export interface SealTask {
  readonly kind: 'seal';
  readonly folder: string;
}

/** Does what takes seconds away from the thread that serves the run under way. */
export interface Looker {
  look(task: LookTask): Promise<Looked>;
  again(task: AgainTask): Promise<Again>;
  seal(task: SealTask): Promise<RecordingCheck | null>;
  stop(): Promise<void>;
}

const mark = 'limpid-look';
interface Asked {
  readonly n: number;
  readonly task: LookTask | AgainTask | SealTask;
}
interface Answer {
  readonly n: number;
  readonly look?: Looked;
  readonly again?: Again;
  readonly seal?: RecordingCheck | null;
  readonly fault?: string;
}

/** A thread begins without the loader that source needs, so that only the built bridge has one. */
const hasThread = (): boolean => import.meta.url.endsWith('.js');

/** In a thread of its own where there can be one; from source, in this one. */
export function createLooker(): Looker {
  return hasThread() ? threaded() : inline;
}

const inline: Looker = {
  look: (task) => Promise.resolve().then(() => look(task)),
  again: (task) => Promise.resolve().then(() => again(task)),
  seal: ({ folder }) => Promise.resolve().then(() => verifySealed(folder)),
  stop: () => Promise.resolve(),
};

interface Waiting {
  readonly done: (answer: Answer) => void;
  readonly failed: (error: Error) => void;
}

function threaded(): Looker {
  let worker: Worker | null = null;
  let asked = 0;
  const waiting = new Map<number, Waiting>();
  const start = (): Worker => {
    const made = new Worker(new URL(import.meta.url), { workerData: mark });
    // It never keeps the process alive.
    made.unref();
    made.on('message', (answer: Answer) => {
      const one = waiting.get(answer.n);
      waiting.delete(answer.n);
      if (answer.fault === undefined) one?.done(answer);
      else one?.failed(new Error(answer.fault));
    });
    const lost = (error: Error): void => {
      worker = null;
      for (const one of waiting.values()) one.failed(error);
      waiting.clear();
    };
    made.on('error', lost);
    made.on('exit', () => lost(new Error('the thread that looks at runs ended')));
    return made;
  };
  const ask = (task: LookTask | AgainTask | SealTask): Promise<Answer> =>
    new Promise((done, failed) => {
      worker ??= start();
      asked += 1;
      waiting.set(asked, { done, failed });
      const message: Asked = { n: asked, task };
      worker.postMessage(message);
    });
  return {
    async look(task) {
      const { look: found } = await ask(task);
      if (!found) throw new Error('no answer from the thread that looks at runs');
      return found;
    },
    async again(task) {
      const { again: found } = await ask(task);
      if (!found) throw new Error('no answer from the thread that looks at runs');
      return found;
    },
    async seal(task) {
      const { seal: found } = await ask(task);
      if (found === undefined) throw new Error('no answer from the thread that looks at runs');
      return found;
    },
    async stop() {
      await worker?.terminate();
    },
  };
}

function answerTo({ n, task }: Asked): Answer {
  try {
    if (task.kind === 'seal') return { n, seal: verifySealed(task.folder) };
    return task.kind === 'look' ? { n, look: look(task) } : { n, again: again(task) };
  } catch (error) {
    return { n, fault: causeOf(error) };
  }
}

if (!isMainThread && z.literal(mark).safeParse(workerData).success)
  parentPort?.on('message', (asked: Asked) => parentPort?.postMessage(answerTo(asked)));
