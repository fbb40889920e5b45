import { z } from 'zod';

/**
 * What a person sees of a run, apart from the state of the links: made by `jobView`, sent to every page as it is.
 * Schema and type in one place; the server's protocol adds the links and hands it on.
 */

const nullableNumber = z.number().nullable();

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

export const jobViewSchema = z.object({
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
  notices: z.array(z.object({ atS: z.number(), text: z.string() })),
});
export type JobView = z.infer<typeof jobViewSchema>;
export type ButtonView = z.infer<typeof buttonSchema>;
export type EmitterView = z.infer<typeof emitterViewSchema>;
