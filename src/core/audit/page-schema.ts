import { z } from 'zod';

/**
 * What the office's page and the bridge say to one another about runs that are over (docs/api.md). Shared by server and
 * browser; times in seconds of the run's clock unless a name ends in At (ISO 8601 UTC).
 */

const optionalNumber = z.number().nullable();
const span = z.tuple([z.number(), z.number()]);
/** `missing`: the record tells of a seal that is not here. */
export const sealStates = ['intact', 'changed', 'missing', 'unsigned'] as const;
export const severityNames = ['serious', 'warning', 'note'] as const;
export const sortNames = ['started', 'title', 'site', 'engineer', 'rig', 'open', 'seal'] as const;
export const roleNames = ['engineer', 'auditor', 'administrator'] as const;
export type RoleName = (typeof roleNames)[number];

/** One line of the list. */
export const runRowSchema = z.object({
  runId: z.string(),
  startedAt: z.string(),
  title: z.string(),
  site: z.string(),
  engineer: z.string(),
  rig: z.string(),
  simulated: z.boolean(),
  durationS: z.number(),
  /** Null: not looked at yet. */
  findings: optionalNumber,
  openFindings: optionalNumber,
  worst: z.enum(severityNames).nullable(),
  seal: z.enum(sealStates),
  sealCheckedAt: z.string().nullable(),
  /** The record went on, or rules changed, since it was looked at. */
  stale: z.boolean(),
  underWay: z.boolean(),
});
export type RunRow = z.infer<typeof runRowSchema>;

export const runListSchema = z.object({
  total: z.number(),
  from: z.number(),
  rows: z.array(runRowSchema),
  /** Runs that are still to be looked at. */
  waiting: z.number(),
});

const figuresSchema = z.record(z.string(), z.number());
export const findingSchema = z.object({
  id: z.string(),
  key: z.string(),
  severity: z.enum(severityNames),
  title: z.string(),
  text: z.string(),
  why: z.string(),
  source: z.string(),
  spans: z.array(span),
  figures: figuresSchema,
  emitter: z.string(),
  stage: z.string(),
});
export type FindingView = z.infer<typeof findingSchema>;

export const auditVisitSchema = z.object({
  emitter: z.string(),
  name: z.string(),
  visit: z.number(),
  fromS: z.number(),
  toS: z.number(),
  passesS: z.array(z.number()),
  clears: z.array(span),
  pulses: z.array(
    z.object({ onsetS: z.number(), peakS: optionalNumber, peakNtu: optionalNumber, endS: optionalNumber }),
  ),
  state: z.string(),
  done: z.boolean(),
  withheld: z.boolean(),
  reason: z.string(),
  litres: optionalNumber,
  solidsG: optionalNumber,
  /** Readings are missing in it: litres and solids are at least so much. */
  isLeast: z.boolean().default(false),
  /** Its turbidity, decimated: times from the opening, and values. */
  mini: z.object({ timeS: z.array(z.number()), ntu: z.array(optionalNumber) }),
});
export type AuditVisit = z.infer<typeof auditVisitSchema>;

/** What an audit worked out of one run; the same for whoever looks. */
export const lookedAtSchema = z.object({
  endS: z.number(),
  /** Label and words: system, kit, litres, ... */
  facts: z.array(z.tuple([z.string(), z.string()])),
  stages: z.array(
    z.object({
      stage: z.string(),
      title: z.string(),
      fromS: z.number(),
      toS: z.number(),
      why: z.string(),
      by: z.string(),
    }),
  ),
  /** Events for the lane of the chart and the table of marks. */
  marks: z.array(
    z.object({
      timeS: z.number(),
      event: z.string(),
      emitter: z.string(),
      note: z.string(),
      who: z.string(),
      wallAt: z.string(),
    }),
  ),
  verdicts: z.array(z.object({ state: z.string(), done: z.boolean(), fromS: z.number(), toS: z.number() })),
  /** Background and clear level where they changed: time, NTU, NTU. */
  levels: z.array(z.tuple([z.number(), optionalNumber, optionalNumber])),
  gaps: z.array(z.object({ fromS: z.number(), toS: z.number(), what: z.string() })),
  visits: z.array(auditVisitSchema),
  findings: z.array(findingSchema),
  notApplicable: z.array(z.object({ id: z.string(), title: z.string(), because: z.string() })),
  tests: z.array(
    z.object({
      title: z.string(),
      mains: z.string(),
      before: z.string(),
      after: z.string(),
      limit: z.string(),
      origin: z.string(),
      verdict: z.string(),
    }),
  ),
  plan: z.array(
    z.object({ what: z.string(), planned: z.string(), done: z.string(), note: z.string(), differs: z.boolean() }),
  ),
  /** The rules that were held to it, in words for the record. */
  rules: z.string(),
});
export type LookedAtRun = z.infer<typeof lookedAtSchema>;

export const commentSchema = z.object({
  kind: z.enum(['comment', 'sign-off', 'close', 'reopen']),
  finding: z.string(),
  by: z.string(),
  text: z.string(),
  writtenAt: z.string(),
});
export type CommentView = z.infer<typeof commentSchema>;

export const newCommentSchema = z
  .strictObject({
    kind: z.enum(['comment', 'sign-off', 'close', 'reopen']).default('comment'),
    finding: z.string().max(200).default(''),
    text: z.string().trim().max(4000).default(''),
    /** Who says so, where nobody signed in; a person who did is named by the bridge. */
    by: z.string().trim().max(200).default(''),
  })
  .refine((c) => c.kind !== 'comment' || c.text !== '', { message: 'a comment needs words', path: ['text'] })
  .refine((c) => c.kind !== 'close' || c.text !== '', { message: 'say why the finding is closed', path: ['text'] })
  .refine((c) => c.finding !== '' || (c.kind !== 'close' && c.kind !== 'reopen'), {
    message: 'name the finding',
    path: ['finding'],
  });

export const sealViewSchema = z.object({
  state: z.enum(sealStates),
  checkedAt: z.string(),
  /** What is wrong and where, in words. */
  faults: z.array(z.string()),
  fingerprint: z.string(),
  /** By what name the key is trusted here; null: it is not. */
  keyName: z.string().nullable(),
  sealedAt: z.string(),
  simulated: z.boolean(),
});
export type SealView = z.infer<typeof sealViewSchema>;

export const runPageSchema = z.object({
  run: runRowSchema,
  /** Null: it is being looked at; ask again. */
  looked: lookedAtSchema.nullable(),
  comments: z.array(commentSchema),
  /** Keys of findings that were closed. */
  closed: z.array(z.string()),
  signedOff: z.object({ by: z.string(), at: z.string() }).nullable(),
  /** Channels that hold anything. */
  channels: z.array(z.string()),
  fromS: z.number(),
  toS: z.number(),
});
export type RunPage = z.infer<typeof runPageSchema>;

/** Rows for drawing: smallest and largest of each bucket in their order. */
export const drawnSpanSchema = z.object({
  stepS: z.number(),
  timeS: z.array(z.number()),
  values: z.record(z.string(), z.array(optionalNumber)),
});
export type DrawnSpanView = z.infer<typeof drawnSpanSchema>;

export const againRequestSchema = z.strictObject({
  /** Settings of the analysis that differ from the default (docs/method.md). */
  settings: z.record(z.string(), z.number()).default({}),
  /** Use what came later, too. */
  hindsight: z.boolean().default(false),
});
export const againVerdictSchema = z.object({
  state: z.string(),
  clearAtS: optionalNumber,
  clears: z.array(z.tuple([z.number(), optionalNumber])),
  withheld: z.boolean(),
  pulses: z.number(),
  reason: z.string(),
});
export const againSchema = z.object({
  visits: z.array(
    z.object({
      emitter: z.string(),
      name: z.string(),
      visit: z.number(),
      fromS: z.number(),
      toS: z.number(),
      original: againVerdictSchema.nullable(),
      again: againVerdictSchema.nullable(),
      differs: z.boolean(),
      /** Clear later (+) or earlier (-), seconds; null unless both were clear. */
      laterS: optionalNumber,
    }),
  ),
  rinse: z.object({ original: z.string(), again: z.string(), differs: z.boolean() }).nullable(),
  tookMs: z.number(),
});
export type Again = z.infer<typeof againSchema>;

export const officeMeSchema = z.object({
  /** Null: nobody; sign in or pair. */
  name: z.string().nullable(),
  role: z.enum(roleNames).nullable(),
  /** `loopback`, `paired`, `person` or `link`. */
  by: z.string(),
  /** What is open through a link: this run alone. */
  onlyRun: z.string().nullable(),
  hasPeople: z.boolean(),
  /** Whether this is a bridge with a run under way, or a firm's hub. */
  hasRig: z.boolean(),
});
export type OfficeMe = z.infer<typeof officeMeSchema>;

export const signInSchema = z.strictObject({
  name: z.string().trim().min(1).max(100),
  password: z.string().min(1).max(200),
});
export const newPersonSchema = z.strictObject({
  name: z.string().trim().min(1).max(100),
  role: z.enum(roleNames),
  /** Length is what counts (NIST SP 800-63B asks for at least 8 characters, from memory; here more). */
  password: z.string().min(10).max(200),
});
export const personSchema = z.object({ name: z.string(), role: z.enum(roleNames), madeAt: z.string() });
export const newShareSchema = z.strictObject({ days: z.number().int().min(1).max(365).default(14) });
export const shareSchema = z.object({ id: z.string(), madeBy: z.string(), madeAt: z.string(), until: z.string() });
export const madeShareSchema = shareSchema.extend({ link: z.string() });

export const takenInSchema = z.object({
  taken: z.array(z.object({ from: z.string(), runId: z.string(), known: z.boolean(), remarks: z.array(z.string()) })),
  refused: z.array(z.object({ from: z.string(), code: z.string(), why: z.string() })),
});
export type TakenIn = z.infer<typeof takenInSchema>;

export const exportJobSchema = z.object({
  id: z.string(),
  state: z.enum(['working', 'ready', 'failed']),
  done: z.number(),
  total: z.number(),
  bytes: z.number(),
  refused: z.array(z.object({ runId: z.string(), why: z.string() })),
});
export type ExportJob = z.infer<typeof exportJobSchema>;

/** Runs drawn by lot, and what it takes to draw the very same once more. */
export const lotSchema = z.object({ seed: z.string(), of: z.number(), runs: z.array(z.string()) });
