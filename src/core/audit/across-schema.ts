import { z } from 'zod';
import { severityNames } from './page-schema.ts';

/** Figures of many runs, for the page and the HTTP interface. */
const optionalNumber = z.number().nullable();
export const distributionSchema = z.object({
  n: z.number(),
  least: z.number(),
  q1: z.number(),
  median: z.number(),
  q3: z.number(),
  most: z.number(),
  mean: z.number(),
  sd: optionalNumber,
});
export type DistributionView = z.infer<typeof distributionSchema>;

export const groupSchema = z.object({
  key: z.string(),
  runs: z.number(),
  visits: z.number(),
  cleared: z.number(),
  done: z.number(),
  overrides: z.number(),
  falseStarts: z.number(),
  measures: z.record(z.string(), distributionSchema.nullable()),
});
export type GroupView = z.infer<typeof groupSchema>;

export const controlChartSchema = z.object({
  kind: z.string(),
  centre: z.number(),
  points: z.array(
    z.object({ key: z.string(), value: z.number(), upper: z.number(), lower: z.number(), out: z.boolean() }),
  ),
  source: z.string(),
});
export type ControlChartView = z.infer<typeof controlChartSchema>;

export const driftSchema = z.object({
  rig: z.string(),
  title: z.string(),
  unit: z.string(),
  points: z.array(z.object({ runId: z.string(), startedAt: z.string(), value: z.number(), level: z.number() })),
  usual: z.object({ mean: z.number(), sd: z.number() }).nullable(),
  shift: z
    .object({ direction: z.enum(['up', 'down']), fromRunId: z.string(), saidRunId: z.string(), by: z.number() })
    .nullable(),
});
export type DriftView = z.infer<typeof driftSchema>;

export const acrossSchema = z.object({
  by: z.string(),
  measure: z.string(),
  /** Runs that count; simulated ones are left out unless all are. */
  runs: z.number(),
  measures: z.array(z.object({ id: z.string(), title: z.string(), unit: z.string() })),
  groups: z.array(groupSchema),
  all: groupSchema,
  overTime: controlChartSchema.nullable(),
  byGroup: controlChartSchema.nullable(),
  drifts: z.array(driftSchema),
});
export type AcrossView = z.infer<typeof acrossSchema>;

export const sideBySideSchema = z.object({
  figures: z.array(z.object({ id: z.string(), title: z.string(), unit: z.string() })),
  runs: z.array(
    z.object({
      runId: z.string(),
      title: z.string(),
      startedAt: z.string(),
      engineer: z.string(),
      rig: z.string(),
      counts: z.record(z.enum(severityNames), z.number()),
      figures: z.record(z.string(), optionalNumber),
      visits: z.array(
        z.object({
          emitter: z.string(),
          name: z.string(),
          visit: z.number(),
          state: z.string(),
          done: z.boolean(),
          seconds: z.number(),
          clearAfterS: optionalNumber,
          passes: z.number(),
          peakNtu: optionalNumber,
        }),
      ),
    }),
  ),
});
export type SideBySide = z.infer<typeof sideBySideSchema>;
