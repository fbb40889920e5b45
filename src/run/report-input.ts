import type { RunEvent } from '../core/job/event.ts';
import type { Message } from '../core/message/message.ts';
import type { Beside, ReportInput, SealOnReport } from '../report/gather.ts';
import { detailsFile, filesNamed, readDetails, readNamed, runFolder } from '../recording/run-files.ts';
import { readVerified, recordingOf } from '../recording/recording.ts';
import type { SealCheck } from '../recording/seal-check.ts';
import { knownKeys, readComments, sealedFolder, sealNotHere } from '../recording/sealed.ts';
import { type StoredCheck, verifyStored } from '../recording/stored.ts';
import type { RunStore } from '../store/store.ts';
import { chained, recordOf } from './audit-input.ts';

/** Where trusted keys are looked up: the data folder, and a file of keys if one was named. */
export interface Trust {
  readonly data: string;
  readonly keys?: string;
}

/** What report and audit need of a run of the store. Throws Problem: keys, or the run itself, cannot be read. */
export function reportOfRun(run: RunStore, trust: Trust, madeAt: string): ReportInput {
  return { ...recordOfRun(run, trust, madeAt, verifyStored(trust.data, run)), samples: [...run.samples()] };
}

/** The same without the samples, where these are at hand already; `check` is what was found against the run. */
export function recordOfRun(
  run: RunStore,
  trust: Trust,
  madeAt: string,
  { faults, sealed }: StoredCheck,
): Omit<ReportInput, 'samples'> {
  const folder = sealedFolder(trust.data, run.head.runId);
  const sealGone = sealed ? null : sealNotHere(trust.data, run);
  return {
    ...chained(run.head, run.events()),
    seal: sealed && sealOn(sealed.seal, trust),
    ...(sealGone ? { sealGone } : {}),
    faults,
    comments: readComments(folder),
    beside: besideOf(runFolder(trust.data, run.head.runId), run.events()),
    madeAt,
  };
}

/** What the report needs of a recording; `tell` takes its remarks. Throws Problem as `readRecording` does. */
export function reportOfRecording(
  folder: string,
  trust: Trust,
  madeAt: string,
  tell: (remark: Message) => void,
): ReportInput {
  const { check, read } = readVerified(folder);
  const { seal, faults } = check;
  const { remarks, ...recording } = recordingOf(read);
  for (const remark of remarks) tell(remark);
  return {
    ...recordOf(recording),
    seal: sealOn(seal, trust),
    faults,
    comments: readComments(folder),
    ...(recording.chain ? { beside: besideOf(folder, recording.chain.links) } : {}),
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

function sealOn(check: SealCheck, trust: Trust): SealOnReport | null {
  const { seal, state, fingerprint } = check;
  if (state === 'unsigned') return null;
  const keyName = knownKeys(trust.data, trust.keys).get(fingerprint.replaceAll(' ', '')) ?? null;
  const { sealed_at = '', head = '' } = seal ?? {};
  return { state, fingerprint, sealedAt: sealed_at, head, keyName };
}
