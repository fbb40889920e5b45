import { z } from 'zod';
import { jobViewSchema } from '../core/job/view-schema.ts';

/**
 * What the bridge and a page say to one another; the only file of this room that enters the browser bundle.
 *
 * Live stream: GET /api/live, server-sent events named by `type`, id `<epoch>.<seq>`; resume by `Last-Event-ID` or
 * `?after=<epoch>.<seq>`. When the place asked for is no longer held (bridge restarted: new epoch; or too long away)
 * the first message is `refetch`: fetch /api/trace and /api/view, then go on with the stream.
 */

const nullableNumber = z.number().nullable();

/**
 * One plotted instant: [timeS, turbidityNtu, flowLpm, pressureBar, supplyC, returnC, conductivityUsCm, turbidityOutNtu,
 * backgroundNtu, clearLevelNtu]. Times are seconds on the run's clock; null is a gap.
 */
export const traceColumns = [
  'timeS',
  'turbidityNtu',
  'flowLpm',
  'pressureBar',
  'supplyC',
  'returnC',
  'conductivityUsCm',
  'turbidityOutNtu',
  'backgroundNtu',
  'clearLevelNtu',
] as const;
export type TraceColumn = (typeof traceColumns)[number];
export const traceRowSchema = z.tuple([
  z.number(),
  nullableNumber,
  nullableNumber,
  nullableNumber,
  nullableNumber,
  nullableNumber,
  nullableNumber,
  nullableNumber,
  nullableNumber,
  nullableNumber,
]);
export type TraceRow = z.infer<typeof traceRowSchema>;

export {
  type ButtonView,
  buttonSchema,
  type EmitterView,
  emitterViewSchema,
  pulseSchema,
  verdictViewSchema,
} from '../core/job/view-schema.ts';

export const linkViewSchema = z.object({
  id: z.enum(['sensor', 'kit', 'bridge']),
  state: z.enum(['ok', 'trouble', 'off']),
  /** One plain sentence, with what to do when there is trouble. */
  text: z.string(),
  /** Seconds since the last good word from there; null when never. */
  ageS: nullableNumber,
});

export const runViewSchema = jobViewSchema.extend({
  links: z.array(linkViewSchema),
  /** The record is signed and closed: it takes nothing more. */
  sealed: z.boolean(),
  /** Counters of the wire that are not zero: [sentence, count]. */
  counters: z.array(z.object({ code: z.string(), text: z.string(), count: z.number() })),
});
export type RunView = z.infer<typeof runViewSchema>;
export type LinkView = z.infer<typeof linkViewSchema>;

export const liveMessageSchema = z.discriminatedUnion('type', [
  /** First message of a stream that cannot resume, or the past was filled by late readings. `from` is where the stream goes on: `<epoch>.<seq>`. */
  z.object({ type: z.literal('refetch'), from: z.string(), why: z.string() }),
  z.object({ type: z.literal('trace'), rows: z.array(traceRowSchema) }),
  z.object({ type: z.literal('view'), view: runViewSchema }),
  /** Each second, whether or not anything happens: the page's proof that the bridge is there. */
  z.object({
    type: z.literal('beat'),
    timeS: z.number(),
    wallMs: z.number(),
    /** Run-clock seconds of the newest sample; null when none came yet. */
    lastSampleS: nullableNumber,
    /** Run-clock seconds that pass in one real second (1 except in a rehearsal). */
    speed: z.number(),
  }),
]);
export type LiveMessage = z.infer<typeof liveMessageSchema>;

/** POST /api/events. `id` is made by the page once per tap, so that sending it twice has the effect of once. */
export const postEventSchema = z.object({
  id: z.string().min(8).max(64),
  event: z.string().max(64),
  emitter: z.string().max(64).default(''),
  note: z.string().max(2000).default(''),
  data: z.record(z.string(), z.union([z.string(), z.number(), z.boolean(), z.null()])).optional(),
  /** Seconds ago that the tap was made (a queue that waited for the link); 0 when sent at once. */
  agoS: z.number().min(0).max(86400).default(0),
});
export type PostEvent = z.infer<typeof postEventSchema>;
const saidSchema = z.object({
  code: z.string(),
  text: z.string(),
  params: z.record(z.string(), z.union([z.string(), z.number()])),
});
/** A sentence with its code and figures, for a page in another language. */
export type Said = Readonly<z.infer<typeof saidSchema>>;
/** 200: committed and synced; `doubled`: nothing new was written, because it stands there already. */
export const postedEventSchema = z.object({
  id: z.string(),
  index: z.number(),
  timeS: z.number(),
  doubled: z.boolean(),
  remark: saidSchema.optional(),
});
export type PostedEvent = Readonly<z.infer<typeof postedEventSchema>>;

/** GET /api/trace?fromS=&toS=&points= : exact rows, or min/max per column when there are more rows than `points`. */
export const traceAnswerSchema = z.object({
  rows: z.array(traceRowSchema),
  decimated: z.boolean(),
  /** The stream may be resumed after this id without a gap or a double. */
  at: z.string(),
});

/** POST /api/pair with the code printed on the bridge's console; the answer's token goes into `authorization: Bearer`. */
export const pairSchema = z.object({ code: z.string().min(4).max(12) });
export const pairedSchema = z.object({ token: z.string() });

/** GET /api/me: what this page may do. */
export const meSchema = z.object({
  mayWrite: z.boolean(),
  why: z.string(),
  /** By which name this device writes and leads; null when it may only watch. */
  who: z.string().nullable(),
});

/** POST /api/runs/current/seal. */
export const sealRequestSchema = z.object({
  /** Who hands over: stands on the report; left out, it is who signed the hand-over. */
  by: z.string().trim().max(200).default(''),
  /** Seal a run that was not handed over. */
  unfinished: z.boolean().default(false),
});
export const sealedSchema = z.object({ sealedAt: z.string(), head: z.string(), key: z.string() });
export const commentSchema = z.object({ by: z.string(), text: z.string(), written_at: z.string() });

export const recordStateSchema = z.object({
  /** Of the key that seals here, in fours: it is printed on the report. */
  fingerprint: z.string(),
  seal: z.object({ sealedAt: z.string(), head: z.string(), fingerprint: z.string() }).nullable(),
  /** What `limpid verify` says of the sealed record; null while there is none. */
  check: z
    .object({
      sound: z.boolean(),
      entries: z.number(),
      rows: z.number(),
      faults: z.array(z.string()),
      /** Each fault with its code and figures: for a page in another language. */
      said: z.record(
        z.string(),
        z.object({ code: z.string(), params: z.record(z.string(), z.union([z.string(), z.number()])) }),
      ),
    })
    .nullable(),
  comments: z.array(commentSchema),
});
export type RecordState = z.infer<typeof recordStateSchema>;

export const photoKeptSchema = z.object({ file: z.string(), sha256: z.string() });

/** GET /api/reach: how this bridge is reached by https; null when it was not started with it. */
export const reachSchema = z.object({
  https: z
    .object({
      port: z.number(),
      /** SHA-256 of the authority's certificate, as a tablet shows it. */
      fingerprint: z.string(),
    })
    .nullable(),
});
export type Reach = z.infer<typeof reachSchema>;

/** Every refusal of the HTTP API. */
export const refusalSchema = z.object({
  code: z.string(),
  /** What is wrong, where, and what to do. */
  text: z.string(),
  /** The figures of the text, for a page in another language. */
  params: z.record(z.string(), z.union([z.string(), z.number()])).optional(),
});
