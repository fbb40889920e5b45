import { z } from 'zod';
import { applyCurve, curveSchema, type Calibrated } from './curve.ts';

/** Version of this shape; raised when it changes. */
export const certificateVersion = 1;

/**
 * One calibration of one channel of one kit: who, when, by what, until when, and the curve. It goes into each record
 * that was made with it, so that every reading can be traced to its calibration.
 */
export const certificateSchema = z.object({
  v: z.literal(certificateVersion),
  /** Names it in records: kit, channel and a running number. */
  id: z.string().min(1).max(120),
  kit: z.string().min(1),
  channel: z.string().min(1),
  unit: z.string(),
  /** What the curve begins from: the converter's reading (`raw-<channel>`), or the kit's own value where it sends no raw one. */
  input: z.enum(['raw', 'kit']),
  /** ISO 8601 dates. */
  madeAt: z.iso.datetime(),
  dueAt: z.iso.datetime(),
  who: z.string().min(1, 'say who calibrated').max(100),
  standards: z.array(
    z.object({
      value: z.number(),
      u: z.number().min(0),
      raw: z.number(),
      uRaw: z.number().min(0),
      what: z.string().max(200),
    }),
  ),
  curve: curveSchema,
  residuals: z.array(z.number()),
  /** Standard deviation of single readings in the blank (clean water), channel unit: the noise floor; null: not known. */
  blankSd: z.number().min(0).nullable(),
  /** One step of the converter and the top of the range on this curve, channel unit; null where the kit told none. */
  step: z.number().min(0).nullable(),
  hi: z.number().nullable(),
  /** Temperature of the standards, degrees Celsius, where it matters. */
  atC: z.number().nullable(),
});
export type Certificate = z.infer<typeof certificateSchema>;

export type Standing = 'valid' | 'overdue';

/** Whether a certificate still holds at a wall-clock time given as ISO 8601. */
export function standing(certificate: Certificate, nowIso: string): Standing {
  return nowIso <= certificate.dueAt ? 'valid' : 'overdue';
}

/** Applies a certificate to one raw reading. */
export function calibrate(certificate: Certificate, raw: number): Calibrated {
  return applyCurve(certificate.curve, raw);
}

/**
 * Least excess that can be told from nothing: three standard deviations of the blank (k = 3 as in the IUPAC
 * recommendation on limits of detection, from memory), joined with one step of the converter. Null where one of the two is
 * not known: the other alone would promise too much.
 */
export function limitOfDetection({ blankSd, step }: Pick<Certificate, 'blankSd' | 'step'>): number | null {
  return blankSd === null || step === null ? null : 3 * blankSd + step;
}
