import { basename, resolve } from 'node:path';
import type { RunEvent } from '../core/job/event.ts';
import { type Message, say } from '../core/message/message.ts';
import { Problem } from '../core/message/problem.ts';
import type { Sample } from '../core/quantity/sample.ts';
import { canonical } from '../core/seal/canonical.ts';
import { genesisHash, nextLink } from '../core/seal/chain.ts';
import { encodeChunk } from '../store/chunk.ts';
import { sealEvent } from '../core/seal/named.ts';
import { sha256 } from '../store/rows.ts';
import type { RunHead, RunStore, Store, StoredEvent } from '../store/store.ts';
import { chunkFaults, chunkMessage } from './agree.ts';
import { type Recording, readRecording } from './read.ts';

/** Whose the events are of a recording that came without a chain. */
const importer = 'import';

/** Takes a remark on a recording that is taken in. */
export type Tell = (remark: Message) => void;

/**
 * Take a recording into the store; returns its run's id. An export of ours comes back as the very run that it was,
 * chain and all. A recording from elsewhere becomes a run whose chain begins at the import (events by `import`). Either one
 * taken in a second time changes nothing. Whole or not at all.
 *
 * Throws Problem as `readRecording` does, when samples are not those that the chain holds, or when the store holds
 * another run of the same id.
 *
 * @param tell what was odd but usable, remark by remark
 */
export function importRecording(
  store: Store,
  folder: string,
  wallAt = new Date().toISOString(),
  tell: Tell = () => {},
): string {
  const recording = readRecording(folder);
  for (const remark of recording.remarks) tell(remark);
  const { head, links } = recording.chain ?? chainAnew(recording, folder, wallAt);
  const { runId } = head;
  const known = store.openRun(runId);
  if (known) {
    const isSame = recording.chain
      ? canonical(known.head) === canonical(head) && startsWith(known.events(), links)
      : isOfSameContent(known, recording, head, links);
    if (isSame) return runId;
    throw new Problem('recording-run-exists', { runId });
  }
  const fault = recording.chain && chunkFaults(recording.chain, recording.samples, recording.late)[0];
  if (fault) throw new Problem(chunkMessage(fault).code, chunkMessage(fault).params);
  const run = store.restoreRun(head, links, recording.samples, recording.chain ? recording.late : []);
  for (const sample of recording.chain ? [] : recording.late) run.appendLate(sample);
  if (!recording.chain) run.keepSamples();
  return runId;
}

/** The store's run may have gone on since the export. */
function startsWith(events: readonly StoredEvent[], links: readonly StoredEvent[]): boolean {
  const last = links.at(-1);
  return last === undefined || events[last.index]?.hash === last.hash;
}

/** Of a recording from elsewhere: the folder's name and the time of the import make no other run of it. */
function isOfSameContent(
  known: RunStore,
  { samples, late }: Recording,
  head: RunHead,
  links: readonly StoredEvent[],
): boolean {
  const told = (all: readonly StoredEvent[]): string => canonical(all.map((link) => link.event));
  const rows = (all: Iterable<Sample>): string => sha256(encodeChunk([...all]));
  return (
    canonical(known.head.context) === canonical(head.context) &&
    told(known.events().filter((e) => e.who === importer)) === told(links) &&
    rows(known.samples()) === rows(samples) &&
    rows(known.late()) === rows(late)
  );
}

/** What could not be read of the events is noted in the run: else an auditor would take it for work that was never done. */
function unreadNotes({ remarks }: Recording): RunEvent[] {
  return remarks
    .filter((remark) => remark.code === 'recording-events-left-out')
    .map((remark) => ({ timeS: 0, event: 'note', emitter: '', note: say(remark) }));
}

function chainAnew(recording: Recording, folder: string, wallAt: string): { head: RunHead; links: StoredEvent[] } {
  const { context, events, samples } = recording;
  const mark = sha256(canonical({ context, events, samples: sha256(encodeChunk(samples)) })).slice(0, 12);
  const title = context['title'];
  const head: RunHead = {
    runId: context.run_id ?? `import-${mark}`,
    title: typeof title === 'string' ? title : basename(resolve(folder)),
    simulated: context['simulated'] === true,
    startedAt: context.started_at ?? '',
    context,
  };
  const links: StoredEvent[] = [];
  let prevHash = genesisHash(head, sha256);
  // A seal is of the record that it was made for, and that one is not here.
  const open = [...unreadNotes(recording), ...events.filter((e) => e.event !== sealEvent)];
  for (const [index, event] of open.entries()) {
    const content = { id: `import-${index}`, event, who: importer, wallAt };
    const link = { ...nextLink(index, prevHash, content, sha256), event };
    links.push(link);
    prevHash = link.hash;
  }
  return { head, links };
}
