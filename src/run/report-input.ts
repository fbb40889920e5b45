import type { LoggedEvent } from '../core/audit/record.ts';
import type { RunEvent } from '../core/job/event.ts';
import type { Beside, ReportInput, SealOnReport } from '../report/gather.ts';
import { detailsFile, filesNamed, readDetails, readNamed, runFolder } from '../recording/run-files.ts';
import { readRecording } from '../recording/recording.ts';
import { checkSeal, type SealCheck } from '../recording/seal-check.ts';
import { knownKeys, readComments, sealedFolder } from '../recording/sealed.ts';
import { genesisHash } from '../core/seal/chain.ts';
import { samplesKept, sha256 } from '../store/rows.ts';
import type { RunHead, RunStore, StoredEvent } from '../store/store.ts';

/** Where trusted keys are looked up: the data folder, and a file of keys if one was named. */
export interface Trust {
  readonly data: string;
  readonly keys?: string;
}

/** What the report needs of a run of the store. Throws Problem: known keys or key file cannot be read. */
export function reportOfRun(run: RunStore, trust: Trust, madeAt: string): ReportInput {
  return { ...recordOfRun(run, trust, madeAt), samples: [...run.samples()] };
}

/** The same without the samples, where these are at hand already. */
export function recordOfRun(run: RunStore, trust: Trust, madeAt: string): Omit<ReportInput, 'samples'> {
  const folder = sealedFolder(trust.data, run.head.runId);
  return {
    ...chained(run.head, run.events()),
    seal: sealOn(checkSeal(folder), trust),
    comments: readComments(folder),
    beside: besideOf(runFolder(trust.data, run.head.runId), run.events()),
    madeAt,
  };
}

/** What the report needs of a recording. Throws Problem as `readRecording` does. */
export function reportOfRecording(folder: string, trust: Trust, madeAt: string): ReportInput {
  const { context, samples, events, chain } = readRecording(folder);
  const title = typeof context['title'] === 'string' ? context['title'] : '';
  const simulated = context['simulated'] === true;
  const plain = {
    head: { runId: context.run_id ?? 'without a name', title, simulated, startedAt: context.started_at ?? '', context },
    entries: events.map((event, i): LoggedEvent => ({ id: `row-${i}`, event, who: '', wallAt: '' })),
    chain: null,
  };
  return {
    ...(chain ? chained(chain.head, chain.links) : plain),
    samples,
    seal: sealOn(checkSeal(folder), trust),
    comments: readComments(folder),
    ...(chain ? { beside: besideOf(folder, chain.links) } : {}),
    madeAt,
  };
}

/** Photos and names as they stand in a folder, each held against its hash. */
function besideOf(folder: string, links: readonly { readonly event: RunEvent }[]): Beside {
  const named = filesNamed(links.map((link) => link.event));
  const photos = new Map<string, Uint8Array>();
  let details: Beside['details'] = null;
  for (const one of named) {
    const bytes = readNamed(folder, one);
    if (one.file === detailsFile) details = (bytes && readDetails(bytes)) ?? 'left-out';
    else if (bytes) photos.set(one.file, bytes);
  }
  return { details, photos };
}

function chained(head: RunHead, links: readonly StoredEvent[]): Pick<ReportInput, 'head' | 'entries' | 'chain'> {
  const entries = links
    .filter((link) => link.event.event !== samplesKept)
    .map(({ id, event, who, wallAt }): LoggedEvent => ({ id, event, who, wallAt }))
    .toSorted((a, b) => a.event.timeS - b.event.timeS);
  return { head, entries, chain: { count: links.length, hash: links.at(-1)?.hash ?? genesisHash(head, sha256) } };
}

function sealOn(check: SealCheck, trust: Trust): SealOnReport | null {
  const { seal, state, fingerprint } = check;
  if (state === 'unsigned') return null;
  const keyName = knownKeys(trust.data, trust.keys).get(fingerprint.replaceAll(' ', '')) ?? null;
  const { sealed_at = '', head = '' } = seal ?? {};
  return { state, fingerprint, sealedAt: sealed_at, head, keyName };
}
