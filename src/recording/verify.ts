import type { Message } from '../core/message/message.ts';
import { type ChainVerdict, verifyChain } from '../core/seal/verify.ts';
import { samplesKept, samplesKeptSchema, sha256 } from '../store/rows.ts';
import { agreement, type ChunkFault, chunkFaults, chunkMessage } from './agree.ts';
import { changedFiles, type Parts, readParts } from './read.ts';

/** What can be said of a recording's integrity. */
export interface RecordingCheck {
  /** Chained, and nothing found against it. */
  readonly sound: boolean;
  /** Null: a recording without a chain, of which nothing can be proved. */
  readonly chain: ChainVerdict | null;
  readonly samples: {
    readonly rows: number;
    /** Rows whose hash is in the chain. */
    readonly chained: number;
    readonly changed: readonly ChunkFault[];
  };
  /** Everything found against it, in words. */
  readonly faults: readonly Message[];
  /** Odd, but nothing against it. */
  readonly remarks: readonly Message[];
}

function chainedRows(parts: Parts): number {
  let rows = 0;
  for (const { event } of parts.chain?.links ?? [])
    if (event.event === samplesKept) rows += samplesKeptSchema.safeParse(event.data).data?.count ?? 0;
  return rows;
}

/**
 * Hold a recording's files against its chain, one another and datapackage.json. Throws Problem only when a file cannot
 * be read at all.
 */
export function verifyRecording(folder: string): RecordingCheck {
  const parts = readParts(folder);
  const { chain } = parts;
  const verdict = chain && verifyChain(chain.head, chain.links, sha256, parts.dataPackage?.end ?? undefined);
  const faults: Message[] = [];
  if (verdict && !verdict.intact)
    for (const { kind, index, position } of verdict.faults)
      faults.push({
        code: 'recording-chain-broken',
        params: { file: 'chain.jsonl', kind, index, line: position + 2 },
      });
  const disagrees = agreement(parts);
  if (disagrees) faults.push({ code: disagrees.code, params: disagrees.params });
  const changed = chain ? chunkFaults(chain, parts.samples) : [];
  const chained = chainedRows(parts);
  faults.push(...changed.map(chunkMessage), ...changedFiles(parts));
  const beyond = parts.samples.length - chained;
  if (chain && changed.length === 0 && beyond > 0)
    faults.push({ code: 'recording-samples-unchained', params: { file: 'recording.csv', count: beyond } });
  return {
    sound: chain !== null && faults.length === 0,
    chain: verdict,
    samples: { rows: parts.samples.length, chained, changed },
    faults,
    remarks: parts.remarks,
  };
}
