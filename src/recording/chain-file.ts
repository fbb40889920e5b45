import { causeOf } from '../core/message/cause.ts';
import { basename } from 'node:path';
import { z } from 'zod';
import { Problem } from '../core/message/problem.ts';
import { canonical } from '../core/seal/canonical.ts';
import { runHeadSchema, storedEventSchema } from '../store/rows.ts';
import type { RunHead, StoredEvent } from '../store/store.ts';
import { eachLine } from './text-file.ts';

const limits = { maxBytes: 1 << 30, maxLineLength: 1 << 24 };
const firstLineSchema = z.object({ v: z.literal(1), head: runHeadSchema });

/** A run's record as chained: its head, then every event of the store. */
export interface ChainFile {
  readonly head: RunHead;
  readonly links: readonly StoredEvent[];
}

/** chain.jsonl: first `{"head":...,"v":1}`, then one stored event a line. Not verified here. Throws Problem. */
export function readChain(path: string): ChainFile & { bytes: number; sha256: string } {
  const file = basename(path);
  let head: RunHead | null = null;
  const links: StoredEvent[] = [];
  const check = <T>(schema: z.ZodType<T>, line: string, lineNumber: number): T => {
    const result = schema.safeParse(parse(line, file, lineNumber));
    if (result.success) return result.data;
    const issue = result.error.issues[0];
    const path_ = issue?.path.join('.') || '(whole)';
    throw new Problem('recording-chain-line', {
      file,
      line: lineNumber,
      path: path_,
      detail: issue?.message ?? 'invalid',
    });
  };
  const { bytes, sha256 } = eachLine(path, limits, ({ text, number }) => {
    if (text === '') return;
    if (head) links.push(check(storedEventSchema, text, number));
    else head = check(firstLineSchema, text, number).head;
  });
  if (!head) throw new Problem('recording-empty', { file });
  return { head, links, bytes, sha256 };
}

function parse(line: string, file: string, lineNumber: number): unknown {
  try {
    return JSON.parse(line);
  } catch (error) {
    const detail = causeOf(error);
    throw new Problem('recording-json', { file, line: lineNumber, detail: detail.slice(0, 160) }, { cause: error });
  }
}

export function* chainLines(chain: ChainFile): Iterable<string> {
  yield canonical({ v: 1, head: chain.head });
  for (const link of chain.links) yield canonical(link);
}
