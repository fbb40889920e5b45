import type { CheckPoint } from '../core/job/bench-schema.ts';

export { type CheckPoint, type CheckResult, checkResultSchema } from '../core/job/bench-schema.ts';

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
  return Math.abs(value) < 1e-6 ? '0' : String(Number(value.toPrecision(3)));
}
