import type { Message } from '../core/message/message.ts';
import { Problem } from '../core/message/problem.ts';
import { genesisHash } from '../core/seal/chain.ts';
import { type ChainVerdict, verifyChain } from '../core/seal/verify.ts';
import { samplesKept, samplesKeptSchema, sha256 } from '../store/rows.ts';
import { entryNamed } from '../core/seal/named.ts';
import { agreement, type ChunkFault, chunkFaults, chunkMessage, lateName } from './agree.ts';
import { changedWhere } from './locate.ts';
import { changedFiles, namedFaults, type Parts, readParts } from './read.ts';
import { checkSeal, type SealCheck } from './seal-check.ts';
import { otherSeal } from './other-seal.ts';

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
  readonly seal: SealCheck;
  /** Everything found against it, in words. */
  readonly faults: readonly Message[];
  /** Odd, but nothing against it. */
  readonly remarks: readonly Message[];
}

/** Rows whose hash is in the chain, of each of the two files. */
function chainedRows(parts: Parts): { readonly inTime: number; readonly late: number } {
  let [inTime, late] = [0, 0];
  for (const { event } of parts.chain?.links ?? []) {
    if (event.event !== samplesKept) continue;
    const { chunk = 0, count = 0 } = samplesKeptSchema.safeParse(event.data).data ?? {};
    if (chunk < 0) late += count;
    else inTime += count;
  }
  return { inTime, late };
}

/** Rows at the end of each file that no entry of the chain holds. */
function unchained({ samples, late }: Parts, chained: ReturnType<typeof chainedRows>): Message[] {
  const beyond: [string, number][] = [
    ['recording.csv', samples.length - chained.inTime],
    [lateName, late.length - chained.late],
  ];
  return beyond.flatMap(([file, count]): Message[] =>
    count > 0 ? [{ code: 'recording-samples-unchained', params: { file, count } }] : [],
  );
}

/**
 * Hold a recording's files against its seal, its chain, one another and datapackage.json. Throws Problem only when an
 * unsealed recording cannot be read at all.
 */
export function verifyRecording(folder: string): RecordingCheck {
  return readVerified(folder).check;
}

/** The same, and what was read for it, so that a long recording is read once; a Problem where it could not be. */
export function readVerified(folder: string): { readonly check: RecordingCheck; readonly read: Parts | Problem } {
  const seal = checkSeal(folder);
  const read = readOrWhy(folder, seal);
  const parts = read instanceof Problem ? null : read;
  const found = parts ? checkParts(parts) : nothingRead;
  const faults = [...sealFaults(folder, seal, read), ...found.faults];
  if (read instanceof Problem) faults.push({ code: read.code, params: read.params });
  const remarks = [...found.remarks];
  for (const file of seal.uncovered) remarks.push({ code: 'seal-uncovered', params: { file } });
  const sound = found.chain !== null && faults.length === 0;
  return { check: { ...found, seal, sound, faults, remarks }, read };
}

type Found = Omit<RecordingCheck, 'seal' | 'sound'>;
const nothingRead: Found = { chain: null, samples: { rows: 0, chained: 0, changed: [] }, faults: [], remarks: [] };

/** A sealed recording that cannot be read is one that was changed, and the seal still says where. */
function readOrWhy(folder: string, seal: SealCheck): Parts | Problem {
  try {
    return readParts(folder);
  } catch (error) {
    if (seal.state !== 'unsigned' && error instanceof Problem) return error;
    throw error;
  }
}

function sealFaults(folder: string, check: SealCheck, read: Parts | Problem): Message[] {
  const { seal, changed, gone } = check;
  const other = read instanceof Problem ? null : otherSeal(read.chain?.links.at(-1), check);
  const faults: Message[] = [...check.faults, ...(other ? [other] : [])];
  if (!seal || check.faults.length > 0) return faults;
  const unchanged = new Set(Object.keys(seal.files).filter((f) => !changed.includes(f) && !gone.includes(f)));
  const [parts, problem] = read instanceof Problem ? [null, read] : [read, null];
  for (const file of changed) faults.push(changedWhere(folder, file, parts, problem, unchanged));
  for (const file of gone) faults.push({ code: 'seal-file-gone', params: { file } });
  const chain = parts?.chain;
  if (!chain || changed.length + gone.length > 0) return faults;
  const end = chain.links.at(-1)?.hash ?? genesisHash(chain.head, sha256);
  if (end !== seal.head) faults.push({ code: 'seal-head', params: { expected: seal.head, found: end } });
  if (chain.head.simulated !== (seal.simulated ?? false)) faults.push({ code: 'seal-mark', params: {} });
  return faults;
}

function checkParts(parts: Parts): Found {
  const { chain } = parts;
  const verdict = chain && verifyChain(chain.head, chain.links, sha256, parts.dataPackage?.end ?? undefined);
  const faults: Message[] = [];
  if (verdict && !verdict.intact)
    for (const { kind, index, position, count = 1 } of verdict.faults)
      faults.push({
        code: 'recording-chain-broken',
        params: {
          file: 'chain.jsonl',
          kind,
          index,
          count,
          line: position + 2,
          ...entryNamed(kind, chain?.links[position]),
        },
      });
  const disagrees = agreement(parts);
  if (disagrees) faults.push({ code: disagrees.code, params: disagrees.params });
  const changed = chain ? chunkFaults(chain, parts.samples, parts.late) : [];
  const chained = chainedRows(parts);
  const named = namedFaults(parts);
  const told = new Set(named.faults.map((f) => f.params['file']));
  faults.push(...changed.map(chunkMessage), ...changedFiles(parts).filter((f) => !told.has(f.params['file'] ?? '')));
  faults.push(...named.faults);
  const rows = parts.samples.length + parts.late.length;
  if (chain && changed.length === 0) faults.push(...unchained(parts, chained));
  const samples = { rows, chained: chained.inTime + chained.late, changed };
  return { chain: verdict, samples, faults, remarks: [...parts.remarks, ...named.remarks] };
}
