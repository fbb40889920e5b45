import { z } from 'zod';

/** What the kit's bench shows and asks: sent by the bridge, read by the bench page. Units in names or beside the value. */

const nullableNumber = z.number().nullable();

export const benchChannelSchema = z.object({
  name: z.string(),
  title: z.string(),
  unit: z.string(),
  /** As the kit sends it; null: not now. */
  kitValue: nullableNumber,
  /** As the converter gives it (V or count); null: the kit sends none. */
  raw: nullableNumber,
  /** As it enters the record: by the certificate where there is one. */
  value: nullableNumber,
  /** Standard uncertainty by the certificate. */
  u: nullableNumber,
  /** Beyond the standards of the certificate. */
  outside: z.boolean(),
  ageS: nullableNumber,
  lo: nullableNumber,
  hi: nullableNumber,
  step: nullableNumber,
  certificate: z
    .object({ id: z.string(), who: z.string(), made: z.string(), due: z.string(), overdue: z.boolean() })
    .nullable(),
});
export type BenchChannel = z.infer<typeof benchChannelSchema>;

export const checkPointSchema = z.object({
  id: z.string(),
  title: z.string(),
  /** `not-seen`: it could not be judged this time; no fault, and no proof. */
  state: z.enum(['ok', 'fix', 'not-seen']),
  text: z.string(),
  /** What to do next; '' when there is nothing to do. */
  next: z.string(),
  figures: z.record(z.string(), z.number()),
});
export type CheckPoint = z.infer<typeof checkPointSchema>;

/** The result of "check my kit", to be shared: no names, no addresses, nothing of the house. */
export const checkResultSchema = z.object({
  v: z.literal(1),
  kind: z.literal('limpid-kit-check'),
  kit: z.string(),
  firmware: z.string(),
  /** ISO 8601, UTC. */
  at: z.string(),
  seconds: z.number(),
  /** The wire that the kit was held to. */
  against: z.literal('docs/wire.md'),
  verdict: z.enum(['ok', 'fix']),
  points: z.array(checkPointSchema),
});
export type CheckResult = z.infer<typeof checkResultSchema>;

export const benchViewSchema = z.object({
  /** Where the bytes come from, for people. */
  source: z.string(),
  /** What is wrong with the link now, as a sentence; null: nothing. */
  problem: z.string().nullable(),
  kits: z.array(
    z.object({
      kit: z.string(),
      /** Its readings make the run. */
      leads: z.boolean(),
      firmware: z.string().nullable(),
      rateHz: nullableNumber,
      packs: z.number(),
      ageS: z.number(),
      channels: z.array(benchChannelSchema),
    }),
  ),
  counters: z.array(z.object({ code: z.string(), text: z.string(), count: z.number() })),
  check: z.object({
    running: z.object({ kit: z.string(), text: z.string(), leftS: z.number() }).nullable(),
    result: checkResultSchema.nullable(),
  }),
});
export type BenchView = z.infer<typeof benchViewSchema>;

const kit = z.string().min(1).max(200);
const channel = z.string().min(1).max(40);

export const benchCommandSchema = z.discriminatedUnion('command', [
  z.object({ kit, command: z.literal('hello') }),
  z.object({ kit, command: z.literal('blink') }),
  z.object({ kit, command: z.literal('rate'), hz: z.number() }),
]);
export const benchAnswerSchema = z.object({ ok: z.boolean(), text: z.string() });

export const benchMeasureSchema = z.object({ kit, channel, seconds: z.number().min(1).max(120) });
/** Mean over the seconds: raw where the kit sends it, else the kit's own value. */
export const benchMeasuredSchema = z.object({
  input: z.enum(['raw', 'kit']),
  mean: z.number(),
  sd: z.number(),
  u: z.number(),
  count: z.number(),
  kitValue: nullableNumber,
});
export type BenchMeasured = z.infer<typeof benchMeasuredSchema>;

export const benchLitresSchema = z.object({ kit, action: z.enum(['start', 'stop']) });
export const benchCountedSchema = z.object({ litres: z.number(), lpm: z.number(), seconds: z.number() });

export const benchWorkSchema = z.object({
  kit,
  channel,
  input: z.enum(['raw', 'kit']),
  who: z.string().max(100),
  /** ISO date; null: the usual number of days from now. */
  dueAt: z.string().max(40).nullable(),
  atC: nullableNumber,
  curve: z.enum(['line', 'steps', 'shift']),
  standards: z
    .array(
      z.object({
        value: z.number(),
        u: z.number(),
        raw: z.number(),
        uRaw: z.number(),
        sdRaw: z.number(),
        kitValue: nullableNumber,
        what: z.string().max(200),
      }),
    )
    .max(20),
  buckets: z
    .array(
      z.object({
        massKg: z.number(),
        uMassKg: z.number(),
        waterC: z.number(),
        kitL: z.number(),
        kitLpm: z.number(),
      }),
    )
    .max(20),
});
export type BenchWork = z.infer<typeof benchWorkSchema>;

/** What a calibration comes to, before it is kept and after. */
export const benchCertificateSchema = z.object({
  id: z.string(),
  /** The curve in one sentence. */
  text: z.string(),
  unit: z.string(),
  /** Where the standards lie on the plot, and the curve through them. */
  points: z.array(z.object({ raw: z.number(), value: z.number(), u: z.number(), residual: z.number() })),
  curve: z.array(z.object({ raw: z.number(), value: z.number(), u: z.number() })),
  /** Standard uncertainty at the lowest and the highest standard. */
  uLow: z.number(),
  uHigh: z.number(),
  blankSd: nullableNumber,
  limitOfDetection: nullableNumber,
  made: z.string(),
  due: z.string(),
  who: z.string(),
});
export type BenchCertificate = z.infer<typeof benchCertificateSchema>;

export const benchCheckSchema = z.object({ kit, seconds: z.number().min(5).max(600) });
