import type { LoggedEvent, RunRecord } from '../core/audit/record.ts';
import type { Message } from '../core/message/message.ts';
import { Problem } from '../core/message/problem.ts';
import { eventsOf } from '../recording/agree.ts';
import type { Parts } from '../recording/read.ts';
import { type Recording, readVerified, recordingOf } from '../recording/recording.ts';
import { genesisHash } from '../core/seal/chain.ts';
import { samplesKept, sha256 } from '../store/rows.ts';
import type { RunHead, StoredEvent } from '../store/store.ts';

type Entered = Pick<RunRecord, 'head' | 'entries' | 'chain'>;

/** A run as its chain holds it: the store's own events are none of its readers' business. */
export function chained(head: RunHead, links: readonly StoredEvent[]): Entered {
  const entries = links
    .filter((link) => link.event.event !== samplesKept)
    .map(({ id, event, who, wallAt }): LoggedEvent => ({ id, event, who, wallAt }))
    .toSorted((a, b) => a.event.timeS - b.event.timeS);
  return { head, entries, chain: { count: links.length, hash: links.at(-1)?.hash ?? genesisHash(head, sha256) } };
}

/** A recording as report and audit take it; how its seal stands is for the caller to say. */
export function recordOf({ context, samples, late, events, chain }: Omit<Recording, 'remarks'>): RunRecord {
  if (chain) return { ...chained(chain.head, chain.links), samples, late, seal: null };
  return {
    head: {
      runId: context.run_id ?? 'without a name',
      title: typeof context['title'] === 'string' ? context['title'] : '',
      simulated: context['simulated'] === true,
      startedAt: context.started_at ?? '',
      context,
    },
    entries: events.map((event, i): LoggedEvent => ({ id: `row-${i}`, event, who: '', wallAt: '' })),
    samples,
    late,
    chain: null,
    seal: null,
  };
}

export interface AuditInput {
  readonly record: RunRecord;
  /** What was odd but usable. */
  readonly remarks: readonly Message[];
}

/**
 * A recording with what a check of its chain and seal found against it. One that was changed is audited all the same,
 * by what it says now: that it was changed is the first of its findings. Throws Problem where nothing can be read.
 */
export function auditOfRecording(folder: string): AuditInput {
  const { check, read } = readVerified(folder);
  const { state } = check.seal;
  const seal = state === 'unsigned' ? null : { state };
  const { remarks, ...recording } = readWhatThereIs(read, check.faults.length > 0);
  return { record: { ...recordOf(recording), seal, faults: check.faults }, remarks };
}

function readWhatThereIs(read: Parts | Problem, isBroken: boolean): Recording {
  try {
    return recordingOf(read);
  } catch (error) {
    if (!isBroken || !(error instanceof Problem) || read instanceof Problem) throw error;
    return unproved(read);
  }
}

/** As the files stand, without a chain that does not hold. */
function unproved({ context, samples, late, eventsFile, chain, remarks }: Parts): Recording {
  const events = eventsFile?.events ?? (chain ? eventsOf(chain) : []);
  return { context, samples, late, events, chain: null, remarks };
}
