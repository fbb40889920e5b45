import { z } from 'zod';
import { lineSettingsSchema } from '../../../src/core/line/settings.ts';

const reason = z.strictObject({ code: z.string(), text: z.string(), figures: z.record(z.string(), z.number()) });

/** What `limpid analyse --json` answers, member by member. */
export const analyseAnswerSchema = z.strictObject({
  visits: z.array(
    z.strictObject({
      emitter: z.string(),
      visit: z.number(),
      clear_at_s: z.number().nullable(),
      clears: z.array(z.strictObject({ from_s: z.number(), to_s: z.number().nullable() })),
      withheld: z.boolean(),
      done: z.boolean(),
      pulses: z.array(
        z.strictObject({
          onset_s: z.number(),
          said_s: z.number(),
          peak_s: z.number().nullable(),
          peak_ntu: z.number().nullable(),
          end_s: z.number().nullable(),
        }),
      ),
      confidence: z.number().nullable(),
      reason,
    }),
  ),
  rinse: z
    .strictObject({
      clear_at_s: z.number().nullable(),
      withheld: z.boolean(),
      confidence: z.number().nullable(),
      reason,
    })
    .nullable(),
  notices: z.array(z.strictObject({ at_s: z.number(), reason })),
  findings: z.array(
    z.strictObject({
      id: z.string(),
      severity: z.string(),
      title: z.string(),
      spans: z.array(z.tuple([z.number(), z.number()])),
      figures: z.record(z.string(), z.number()),
    }),
  ),
  settings: lineSettingsSchema,
});
