import { z } from 'zod';
import { unitChoices } from '../quantity/units.ts';

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
  /** The page asks for a reason and sends it as the note. */
  why: z.boolean(),
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
  /** Solids that it gave, standard uncertainty with it: an estimate. */
  solidsG: z.object({ value: z.number(), u: z.number() }).nullable(),
  /** Litres to let out so that it is about half full. */
  toDropL: z.number(),
  /** Seconds from it to the sensor at the flow of now. */
  transitS: nullableNumber,
  /** What came of each visit, in words, oldest first. */
  told: z.array(z.string()),
});

const conditionSchema = z.object({
  id: z.string(),
  label: z.string(),
  value: nullableNumber,
  /** Standard uncertainty, same unit. */
  u: nullableNumber,
  kind: z.enum(['pressure', 'flow', 'volume', 'temperature']).nullable(),
  /** A change of that quantity per minute. */
  perMin: z.boolean(),
  unit: z.string(),
  decimals: nullableNumber,
  least: nullableNumber,
  most: nullableNumber,
  /** In place of a figure. */
  words: z.string(),
  note: z.string(),
  stand: z.enum(['inside', 'low', 'high', 'no-band', 'not-measured']),
});

const fieldSchema = z.object({
  name: z.string(),
  label: z.string(),
  kind: z.enum(['number', 'choice', 'text']),
  unit: z.string().optional(),
  quantity: z.enum(['pressure', 'flow', 'volume', 'temperature']).optional(),
  least: z.number().optional(),
  most: z.number().optional(),
  step: z.number().optional(),
  decimals: z.number().optional(),
  choices: z.array(z.string()),
  start: z.union([z.number(), z.string()]).optional(),
  startBy: z.literal('rig').optional(),
  optional: z.boolean().optional(),
});

const unitChoiceSchema = z.object({
  pressure: z.enum(unitChoices.pressure),
  flow: z.enum(unitChoices.flow),
  volume: z.enum(unitChoices.volume),
  temperature: z.enum(unitChoices.temperature),
});

const plainSchema = z.record(z.string(), z.union([z.string(), z.number()]));

const formSchema = z.object({
  id: z.string(),
  title: z.string(),
  event: z.string(),
  fixed: z.record(z.string(), z.string()),
  fields: z.array(fieldSchema),
  submit: z.string(),
  about: z.string().optional(),
  last: plainSchema.nullable(),
});

/** The page of one stage: what to do, its figures beside their bands, what to type, and what is missing to go on. */
export const stagePageSchema = z.object({
  name: z.string(),
  number: z.number(),
  steps: z.array(z.string()),
  cautions: z.array(
    z.object({ id: z.string(), title: z.string(), text: z.string(), gates: z.boolean(), read: z.boolean() }),
  ),
  conditions: z.array(conditionSchema),
  checks: z.array(z.object({ id: z.string(), label: z.string(), done: z.boolean() })),
  deeds: z.array(buttonSchema),
  forms: z.array(formSchema),
  table: z.object({ title: z.string(), head: z.array(z.string()), rows: z.array(z.array(z.string())) }).nullable(),
  /** What must not be overlooked. */
  warnings: z.array(z.string()),
  remarks: z.array(z.string()),
  missing: z.array(z.string()),
  /** The limits of the water tests as a table, where they can be changed. */
  limits: z.object({ name: z.string(), csv: z.string() }).nullable(),
  survey: z
    .object({
      system: z.enum(['sealed', 'open-vented']),
      told: z.boolean(),
      /** The whole survey as a table, to be kept for the next visit. */
      csv: z.string(),
      emitters: z.array(plainSchema),
      runs: z.array(plainSchema),
      others: z.array(plainSchema),
      order: z.array(z.string()),
    })
    .nullable(),
});

const stagePointSchema = z.object({
  name: z.string(),
  title: z.string(),
  status: z.enum(['to-come', 'now', 'done', 'left', 'skipped']),
  why: z.string(),
  times: z.number(),
  /** To be confirmed before this stage may begin from where the run is. */
  cautions: z.array(z.object({ id: z.string(), title: z.string(), text: z.string() })),
});

/** At most three of those that stand, ranked; the others are counted. Texts are made by the bridge. */
const alarmsSchema = z.object({
  shown: z
    .array(
      z.object({
        kind: z.string(),
        priority: z.enum(['urgent', 'prompt', 'plain']),
        text: z.string(),
        toDo: z.string(),
        otherwise: z.string(),
        /** What else is known of it, such as the likely rest of an emitter that does not clear. */
        also: z.string().optional(),
        sinceS: z.number(),
        /** `gone`: it went away by itself before anybody had seen it. */
        stand: z.enum(['new', 'seen', 'gone']),
        isFirstUp: z.boolean(),
        mayShelve: z.boolean(),
      }),
    )
    .max(3),
  more: z.number(),
  shelved: z.array(z.object({ kind: z.string(), text: z.string(), untilS: z.number() })),
  /** Grows with each alarm that is to be heard. */
  heard: z.number(),
  /** It is to be heard again and again: new, and neither silenced nor put aside. */
  isCalling: z.boolean(),
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
  /** What was typed and can still be put right, newest first: its form holds it as it stands now. */
  typed: z.array(z.object({ id: z.string(), timeS: z.number(), form: formSchema })),
  undo: z.object({ id: z.string(), label: z.string(), untilS: z.number() }).nullable(),
  stagePage: stagePageSchema.nullable(),
  timeLine: z.array(stagePointSchema),
  paused: z.object({ sinceS: z.number(), why: z.string() }).nullable(),
  /** Preset reasons, to be chosen with a glove on. */
  reasons: z.object({ way: z.array(z.string()), pause: z.array(z.string()) }),
  notices: z.array(z.object({ atS: z.number(), text: z.string() })),
  /** Device that leads; null while nobody took the lead, and then every paired one may write. */
  lead: z.string().nullable(),
  /** Each text above that is a message, with its code and figures: for a page in another language. */
  said: z.record(
    z.string(),
    z.object({ code: z.string(), params: z.record(z.string(), z.union([z.string(), z.number()])) }),
  ),
  /** In what figures are shown; what is sent and kept is always bar, l/min, l and degrees Celsius. */
  units: unitChoiceSchema,
  photos: z.array(
    z.object({ timeS: z.number(), emitter: z.string(), what: z.string(), file: z.string(), sha256: z.string() }),
  ),
  alarms: alarmsSchema,
  /** Of the work at the emitters: what should not be missed, most pressing first. */
  workRemarks: z.array(z.string()),
  /** When the whole run will be done, run-clock minutes from now; null where nothing can be told. */
  forecast: z
    .object({
      minutes: z.number(),
      fromMin: z.number(),
      toMin: z.number(),
      basis: z.enum(['first-guess', 'few-visits', 'visits', 'stages']),
      text: z.string(),
      /** The same for a narrow line. */
      short: z.string(),
    })
    .nullable(),
});
export type JobView = z.infer<typeof jobViewSchema>;
export type ButtonView = z.infer<typeof buttonSchema>;
export type EmitterView = z.infer<typeof emitterViewSchema>;
export type StagePage = z.infer<typeof stagePageSchema>;
export type StagePoint = z.infer<typeof stagePointSchema>;
export type StageForm = StagePage['forms'][number];
export type StageField = StageForm['fields'][number];
export type StageCondition = StagePage['conditions'][number];
