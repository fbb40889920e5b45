import { mkdirSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { z } from 'zod';
import type { Message } from '../core/message/message.ts';
import { Problem } from '../core/message/problem.ts';
import type { FirmStore } from '../hub/keeper.ts';
import { readContext } from '../recording/context-file.ts';
import { copyNamed, filesNamed, type NamedFile, runFolder } from '../recording/run-files.ts';
import { sealedFolder } from '../recording/sealed.ts';
import { verifyRecording } from '../recording/verify.ts';
import { sealEvent } from '../core/seal/named.ts';
import { runHeadSchema, storedEventSchema } from '../store/rows.ts';
import type { Store } from '../store/store.ts';

const linksSchema = z.array(storedEventSchema);

/** The firm's store: the same as a bridge's, with the runs of all rigs in it. */
export function firmStore(store: Store, data: string): FirmStore {
  return {
    grow(head, _rig, links, chunkOf) {
      const parsed = runHeadSchema.safeParse(head);
      const runId = z.object({ runId: z.string() }).safeParse(head).data?.runId ?? '';
      if (!parsed.success)
        throw new Problem('hub-head-invalid', { runId, detail: parsed.error.issues[0]?.message ?? 'not as expected' });
      const events = linksSchema.safeParse(links);
      if (!events.success) {
        const issue = events.error.issues[0];
        const index = links[Number(issue?.path[0] ?? 0)]?.index ?? 0;
        throw new Problem('hub-chain-differs', { runId, index, kind: issue?.message ?? 'it is no event' });
      }
      return store.growRun(parsed.data, events.data, chunkOf);
    },
    takeRecord(runId, files) {
      const last = lastLink(store, runId);
      if (last?.event.event !== sealEvent) return 'early';
      const fault = takeRecord(data, runId, last.hash, files, namedBy(store, runId));
      // Whoever looked at the run before its record came saw it unsealed, and without its names and photos.
      if (fault === null) store.index.lookAgain(runId);
      return fault;
    },
  };
}

/** Written aside, verified there, and only then given its name. */
function takeRecord(
  data: string,
  runId: string,
  head: string,
  files: Parameters<FirmStore['takeRecord']>[1],
  named: readonly NamedFile[],
): Message | null {
  const folder = sealedFolder(data, runId);
  const part = `${folder}.new`;
  rmSync(part, { recursive: true, force: true });
  const differs = (detail: string): Message => ({ code: 'hub-record-differs', params: { runId, detail } });
  for (const { file, body } of files) {
    // A path that leads out of the folder is none of a record's.
    if (!/^[A-Za-z0-9._-]+(\/[A-Za-z0-9._-]+)*$/.test(file) || file.split('/').includes('..'))
      return differs(`it holds a file of the name ${JSON.stringify(file.slice(0, 80))}`);
    mkdirSync(dirname(join(part, file)), { recursive: true });
    // Once the rig is told, its pieces go: what was verified has to outlive a power cut.
    writeFileSync(join(part, file), body, { flush: true });
  }
  const problem = check(part, runId, head);
  if (problem) return typeof problem === 'string' ? differs(problem) : problem;
  // As an import does: report and audit find names and photos where the bridge's own runs have theirs.
  copyNamed(part, runFolder(data, runId), named);
  rmSync(folder, { recursive: true, force: true });
  renameSync(part, folder);
  return null;
}

function check(folder: string, runId: string, head: string): Message | string | null {
  try {
    const { faults, seal } = verifyRecording(folder);
    if (faults[0]) return faults[0];
    if (seal.state !== 'good') return 'it bears no seal';
    const found = readContext(join(folder, 'context.json')).context.run_id ?? '';
    if (found !== runId) return `it is of run ${found}`;
    return seal.seal?.head === head ? null : 'it ends with another entry than the chain that was sent before it';
  } catch (error) {
    if (error instanceof Problem) return error;
    throw error;
  }
}

function namedBy(store: Store, runId: string): NamedFile[] {
  return filesNamed((store.openRun(runId)?.events() ?? []).map((e) => e.event));
}

function lastLink(store: Store, runId: string) {
  const run = store.openRun(runId);
  return run?.links(run.linkCount() - 1, 1)[0];
}
