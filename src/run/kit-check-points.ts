import { z } from 'zod';

/** One point of a check: what was looked at, what was found, and what to do. */
export const checkPointSchema = z.object({
  id: z.string(),
  title: z.string(),
  /** `not-seen`: it could not be judged this time; no fault, and no proof. */
  state: z.enum(['ok', 'fix', 'not-seen']),
  text: z.string(),
  /** What to do next; '' when all is well. */
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

export const ok = (id: string, title: string, text: string, figures: CheckPoint['figures'] = {}): CheckPoint => ({
  id,
  title,
  state: 'ok',
  text,
  next: '',
  figures,
});
export const fix = (
  id: string,
  title: string,
  text: string,
  next: string,
  figures: CheckPoint['figures'] = {},
): CheckPoint => ({ id, title, state: 'fix', text, next, figures });
export const notSeen = (id: string, title: string, text: string, next: string): CheckPoint => ({
  id,
  title,
  state: 'not-seen',
  text,
  next,
  figures: {},
});

/** A figure short enough for a sentence. */
export function short(value: number): string {
  return String(Number(value.toPrecision(3)));
}
