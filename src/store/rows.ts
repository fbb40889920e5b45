import { createHash } from 'node:crypto';
import { z } from 'zod';
import { contextSchema } from '../core/job/context.ts';
import { runEventSchema } from '../core/job/event.ts';
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

/** The last event of a run: nothing is appended after it. */
export const sealEvent = 'seal';

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

export const headRow = z.object({ head: z.string() });
export const runRow = z.object({ run: z.number(), head: z.string() });
export const runIdRow = z.object({ run_id: z.string() });
export const certificateRow = z.object({ body: z.string() });
export const linkRow = z.object({ link: z.string() });
export const timeRow = z.object({ time_s: z.number().nullable() });
export const chunkRow = z.object({ chunk: z.number(), from_s: z.number(), to_s: z.number() });
export const countRow = z.object({ count: z.number() });
export const bodyRow = z.object({ body: z.instanceof(Uint8Array) });

/** SHA-256, lower-case hex. Text is hashed as UTF-8. */
export function sha256(data: string | Uint8Array): string {
  return createHash('sha256').update(data).digest('hex');
}
