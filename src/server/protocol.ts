import { z } from 'zod';

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

export const pulseSchema = z.object({
  onsetS: z.number(),
  saidS: z.number(),
  peakS: nullableNumber,
  peakNtu: nullableNumber,
  endS: nullableNumber,
  marked: z.boolean(),
});

const reasonSchema = z.object({ code: z.string(), text: z.string(), figures: z.record(z.string(), z.number()) });

export const verdictViewSchema = z.object({
  state: z.enum(['idle', 'watching', 'carrying', 'settling', 'clear', 'cannot-tell']),
  done: z.boolean(),
  sinceS: z.number(),
  confidence: nullableNumber,
  reason: reasonSchema,
  forecast: z
    .object({ clearAtS: z.number(), fromS: z.number(), toS: z.number(), tauS: z.number(), settleNtu: z.number() })
    .nullable(),
});

/** A button that makes sense now. Pressing it posts `event` with `emitter`. At most three are offered. */
export const buttonSchema = z.object({
  id: z.string(),
  label: z.string(),
  event: z.string(),
  emitter: z.string(),
  note: z.string(),
  /** Ask by holding 1.5 s: it skips or overrides something. */
  hold: z.boolean(),
  /** The one thing to do now. */
  primary: z.boolean(),
});

export const emitterViewSchema = z.object({
  id: z.string(),
  name: z.string(),
  volumeL: z.number(),
  status: z.enum(['to-come', 'open', 'done', 'left', 'skipped']),
  visits: z.number(),
  passes: z.number(),
  peakNtu: nullableNumber,
  /** Seconds from opening to the clear that stood when it was shut. */
  clearAfterS: nullableNumber,
});

export const linkViewSchema = z.object({
  id: z.enum(['sensor', 'kit', 'bridge']),
  state: z.enum(['ok', 'trouble', 'off']),
  /** One plain sentence, with what to do when there is trouble. */
  text: z.string(),
  /** Seconds since the last good word from there; null when never. */
  ageS: nullableNumber,
});

export const runViewSchema = z.object({
  runId: z.string(),
  title: z.string(),
  simulated: z.boolean(),
  startedAt: z.string(),
  /** Run-clock seconds at which this view was made. */
  timeS: z.number(),
  stage: z.string(),
  stageTitle: z.string(),
  emitters: z.array(emitterViewSchema),
  openEmitter: z.string().nullable(),
  /** The verdict band: big words, emitter name, the one thing to do now, one sentence why. */
  band: z.object({
    words: z.string(),
    emitter: z.string().nullable(),
    doNow: z.string(),
    reason: z.string(),
    /** Decides shape and colour together with the words. */
    kind: z.enum(['idle', 'watching', 'carrying', 'settling', 'clear', 'done', 'cannot-tell']),
  }),
  verdict: verdictViewSchema,
  figures: z.object({
    backgroundNtu: nullableNumber,
    clearLevelNtu: nullableNumber,
    excessNtu: nullableNumber,
    noiseNtu: nullableNumber,
    litresSincePassL: nullableNumber,
    litresNeededL: nullableNumber,
  }),
  /** Of the visit under way and the recent past, for drawing into the chart. */
  passesS: z.array(z.number()),
  pulses: z.array(pulseSchema),
  clears: z.array(z.object({ fromS: z.number(), toS: nullableNumber })),
  withheldSpans: z.array(z.object({ fromS: z.number(), toS: nullableNumber, text: z.string() })),
  visitSpans: z.array(z.object({ emitter: z.string(), fromS: z.number(), toS: nullableNumber })),
  buttons: z.array(buttonSchema).max(3),
  undo: z.object({ id: z.string(), label: z.string(), untilS: z.number() }).nullable(),
  links: z.array(linkViewSchema),
  /** Counters of the wire that are not zero: [sentence, count]. */
  counters: z.array(z.object({ code: z.string(), text: z.string(), count: z.number() })),
  notices: z.array(z.object({ atS: z.number(), text: z.string() })),
});
export type RunView = z.infer<typeof runViewSchema>;
export type ButtonView = z.infer<typeof buttonSchema>;
export type EmitterView = z.infer<typeof emitterViewSchema>;

export const liveMessageSchema = z.discriminatedUnion('type', [
  /** First message of a stream that cannot resume. `from` is where the stream goes on: `<epoch>.<seq>`. */
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
/** 200: committed and synced. */
export const postedEventSchema = z.object({
  id: z.string(),
  index: z.number(),
  timeS: z.number(),
  doubled: z.boolean(),
});

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
export const meSchema = z.object({ mayWrite: z.boolean(), why: z.string() });

/** Every refusal of the HTTP API. */
export const refusalSchema = z.object({
  code: z.string(),
  /** What is wrong, where, and what to do. */
  text: z.string(),
});
