import { existsSync, openSync, closeSync, readFileSync, readSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { z } from 'zod';
import { say } from '../core/message/message.ts';
import { Outbox, type Kept, type OutboxRun, type OutboxSource, type RecordFile } from '../hub/outbox.ts';
import { haveSchema } from '../hub/part.ts';
import { type LinkState, Publisher } from '../hub/publisher.ts';
import { checkSeal } from '../recording/seal-check.ts';
import { sealedFolder } from '../recording/sealed.ts';
import { samplesKept, samplesKeptSchema } from '../store/rows.ts';
import type { Store } from '../store/store.ts';
import { writeWhole } from '../store/whole-file.ts';
import type { RunClock } from './clock.ts';
import type { Outlet } from './config.ts';

const keptSchema = z.record(z.string(), haveSchema.omit({ v: true, run_id: true }));

/** The way to the firm of a bridge: its own record as the outbox, and how far the firm has it. */
export interface OutboxLink {
  readonly state: LinkState;
  /** Entries of the record that the firm has not said to have. */
  readonly waiting: number;
  stop(): Promise<void>;
}

export async function startOutbox(
  outlet: Outlet,
  store: Store,
  data: string,
  clock: RunClock,
  installation: string,
  log: (line: string) => void,
): Promise<OutboxLink> {
  const path = join(data, 'outbox.json');
  const outbox = new Outbox(outboxSource(store, data), readKept(path, log));
  let state: LinkState = { joined: false, problem: null };
  let waiting = 0;
  const publisher = new Publisher({
    broker: { ...outlet, clientId: `limpid-rig-${installation}` },
    rig: outlet.rig,
    outbox,
    clock,
    confirmed: () => keepPlace(path, outbox.kept()),
    told(next) {
      state = next;
      log(next.problem ? say(next.problem) : 'The firm is reached; the record goes out.');
    },
  });
  await publisher.start();
  // Counted now and then, not at each look of a page.
  const stopCount = clock.every(2, () => {
    waiting = outbox.waiting();
  });
  return {
    get state() {
      return state;
    },
    get waiting() {
      return waiting;
    },
    async stop() {
      stopCount();
      await publisher.stop();
    },
  };
}

/** Where the disk takes nothing the bridge says so itself; a place that is not kept costs what a lost one does. */
function keepPlace(path: string, kept: Kept): void {
  try {
    writeWhole(path, `${JSON.stringify(kept)}\n`);
  } catch {
    // The next word of the firm tries again.
  }
}

/** Lost or unreadable, it costs no more than sending again what the firm has already. */
function readKept(path: string, log: (line: string) => void): Kept {
  if (!existsSync(path)) return {};
  try {
    return keptSchema.parse(JSON.parse(readFileSync(path, 'utf8')));
  } catch {
    log(`${path} cannot be read; the firm is asked anew what it has.`);
    return {};
  }
}

/** The bridge's own store and sealed records, read as an outbox. */
export function outboxSource(store: Store, data: string): OutboxSource {
  let ids: string[] = [];
  let countedAt = -1;
  return {
    runIds() {
      // Runs are only ever added, by this process.
      const count = store.runCount();
      if (count !== countedAt) ids = store.runs().map((head) => head.runId);
      countedAt = count;
      return ids;
    },
    run(runId): OutboxRun | null {
      const run = store.openRun(runId);
      if (!run) return null;
      return {
        head: run.head,
        startedAt: run.head.startedAt,
        count: () => run.linkCount(),
        links: (from, limit) => run.links(from, limit),
        chunk: (chunk) => run.chunkBody(chunk),
        chunkOf(link) {
          const event = z.object({ event: z.string(), data: z.unknown() }).safeParse(link.event).data;
          if (event?.event !== samplesKept) return null;
          const kept = samplesKeptSchema.safeParse(event.data).data;
          return kept ? { chunk: kept.chunk, sha256: kept.sha256 } : null;
        },
        record: () => recordFiles(sealedFolder(data, runId)),
      };
    },
  };
}

/** Files of a sealed record as they were signed, the seal last. */
function recordFiles(folder: string): RecordFile[] | null {
  if (!existsSync(join(folder, 'seal.json'))) return null;
  const { seal } = checkSeal(folder);
  if (!seal) return null;
  const files = Object.entries(seal.files).map(([file, sha256]) => recordFile(folder, file, sha256));
  return [...files, recordFile(folder, 'seal.json', '0'.repeat(64))];
}

function recordFile(folder: string, file: string, sha256: string): RecordFile {
  const path = join(folder, file);
  return {
    file,
    sha256,
    bytes: statSync(path, { throwIfNoEntry: false })?.size ?? 0,
    read(at, length) {
      const handle = openSync(path, 'r');
      try {
        const bytes = new Uint8Array(length);
        return bytes.subarray(0, readSync(handle, bytes, 0, length, at));
      } finally {
        closeSync(handle);
      }
    },
  };
}
