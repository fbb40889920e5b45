import { z } from 'zod';
import { severities } from './finding.ts';

const kebab = z.string().regex(/^[a-z][a-z0-9]*(-[a-z0-9]+)*$/, 'small letters, digits and hyphens');

export const operators = ['<', '<=', '>', '>='] as const;

/** A rule of the firm's own: a named figure of the run against a value. */
export const ownRuleSchema = z.strictObject({
  id: kebab.max(60),
  title: z.string().min(1).max(120),
  why: z.string().max(500).default(''),
  source: z.string().max(300).default('the firm’s own rule'),
  severity: z.enum(severities),
  /** A name from `figureList`. */
  figure: z.string().min(1),
  op: z.enum(operators),
  value: z.number(),
});
export type OwnRule = z.infer<typeof ownRuleSchema>;

/** A firm's rules file: what differs from the rules that ship, and rules of its own. */
export const auditSettingsSchema = z.strictObject({
  v: z.literal(1).default(1),
  name: z.string().max(120).default(''),
  rules: z
    .record(
      z.string(),
      z.strictObject({
        on: z.boolean().default(true),
        severity: z.enum(severities).optional(),
        thresholds: z.record(z.string(), z.number()).default({}),
      }),
    )
    .default({}),
  own: z.array(ownRuleSchema).max(100).default([]),
});
export type AuditSettings = z.infer<typeof auditSettingsSchema>;
export const defaultAuditSettings: AuditSettings = auditSettingsSchema.parse({});
