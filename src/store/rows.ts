import { createHash } from 'node:crypto';
import { z } from 'zod';
import { contextSchema } from '../core/job/context.ts';
import { runEventSchema } from '../core/job/event.ts';
import { causeOf } from '../core/message/cause.ts';
import { Problem } from '../core/message/problem.ts';
import type { Sample } from '../core/quantity/sample.ts';
import { decodeChunk } from './chunk.ts';
import type { RunHead, StoredEvent } from './store.ts';

/** What stands in the database and in a recording, checked on the way in. What a later version adds is kept: the chain covers it. */
export const runHeadSchema: z.ZodType<RunHead> = z.looseObject({
  runId: z.string().min(1).max(128),
  title: z.string().max(500),
  simulated: z.boolean(),
  startedAt: z.string().max(64),
  context: contextSchema,
  settings: z.record(z.string().max(64), z.number()).exactOptional(),
});

const hash = z.string().regex(/^[0-9a-f]{64}$/);

/** The sender's id of an event: printable, short. */
export const eventIdSchema = z.string().regex(/^[\x21-\x7e]{1,128}$/);

export const storedEventSchema: z.ZodType<StoredEvent> = z.object({
  index: z.int().min(0),
  id: eventIdSchema,
  event: runEventSchema,
  who: z.string().max(200),
  wallAt: z.string().max(64),
  prevHash: hash,
  hash,
});

/** The store's own event: a chunk of samples is closed, and this is its hash. */
export const samplesKept = 'samples-kept';
export const samplesKeptSchema = z.object({
  /** From 0 up; from -1 down those of samples that came after their place in the run had gone by. */
  chunk: z.int(),
  fromS: z.number(),
  toS: z.number(),
  count: z.int().min(1),
  sha256: hash,
});

export const runRow = z.object({ run: z.number(), run_id: z.string(), head: z.string() });
export const runIdRow = z.object({ run_id: z.string() });
export const certificateRow = z.object({ body: z.string() });
export const linkRow = z.object({ idx: z.number(), link: z.string() });
const timeRow = z.object({ time_s: z.number().nullable() });
export const chunkRow = z.object({ chunk: z.number(), from_s: z.number(), to_s: z.number(), count: z.number() });
export const countRow = z.object({ count: z.number() });
export const bodyRow = z.object({ body: z.instanceof(Uint8Array) });

/** SHA-256, lower-case hex. Text is hashed as UTF-8. */
export function sha256(data: string | Uint8Array): string {
  return createHash('sha256').update(data).digest('hex');
}

/**
 * One row that a run is read from. What stands there and is none of ours was written by something else, and is told to
 * who asked for the run: never a guess, never a fault of our own.
 */
function readRow<T>(runId: string, what: string, read: () => T): T {
  try {
    return read();
  } catch (error) {
    const issue = error instanceof z.ZodError ? error.issues[0] : undefined;
    const detail = issue ? `${issue.path.join('.') || 'the whole'}: ${issue.message}` : causeOf(error).slice(0, 120);
    throw new Problem('store-row-unreadable', { runId, what, detail }, { cause: error });
  }
}

/** The head of a run. Throws Problem. */
export function readHead(row: { readonly run_id: string; readonly head: string }): RunHead {
  return readRow(row.run_id, 'the head', () => runHeadSchema.parse(JSON.parse(row.head)));
}

/** An entry of its chain. Throws Problem. */
export function readLink(runId: string, row: unknown): StoredEvent {
  const idx = z.object({ idx: z.int() }).safeParse(row).data?.idx;
  return readRow(runId, idx === undefined ? 'an entry' : `entry ${idx}`, () =>
    storedEventSchema.parse(JSON.parse(linkRow.parse(row).link)),
  );
}

/** Time of its newest entry, null where there is none. Throws Problem. */
export function readTime(runId: string, row: unknown): number | null {
  return readRow(runId, 'the time of an entry', () => timeRow.parse(row).time_s);
}

/** What is known of a chunk without its bytes. Throws Problem. */
export function readChunkRow(runId: string, row: unknown): z.infer<typeof chunkRow> {
  return readRow(runId, 'a chunk of samples', () => chunkRow.parse(row));
}

/** The samples of a chunk, or of a part of the tail. Throws Problem. */
export function readBody(runId: string, what: string, row: unknown): Sample[] {
  return readRow(runId, what, () => decodeChunk(bodyRow.parse(row).body));
}

/** The bytes of a chunk. Throws Problem. */
export function readBytes(runId: string, what: string, row: unknown): Uint8Array {
  return readRow(runId, what, () => bodyRow.parse(row).body);
}
