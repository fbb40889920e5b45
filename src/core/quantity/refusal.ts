/** Why something typed or measured cannot be used: `code` names a sentence of the message room, `params` fill it. */
export interface Refusal {
  readonly code: string;
  readonly params: Readonly<Record<string, string | number>>;
}

/** A result, or the reason why there is none. Nothing in the pure rooms throws for what a user can type. */
export type Outcome<T> = { readonly ok: true; readonly value: T } | { readonly ok: false; readonly refusal: Refusal };

export function given<T>(value: T): Outcome<T> {
  return { ok: true, value };
}

export function refused(code: string, params: Refusal['params'] = {}): { ok: false; refusal: Refusal } {
  return { ok: false, refusal: { code, params } };
}

/** Refusal of a figure outside its possible range, or null. `what` is plain words: "length of the run". */
export function outOfRange(what: string, found: number, low: number, high: number, unit: string): Refusal | null {
  if (found >= low && found <= high) return null;
  return { code: 'out-of-range', params: { what, found: Number.isNaN(found) ? 'no number' : found, low, high, unit } };
}

/** The first refusal of several checks, or null. */
export function firstOf(...checks: readonly (Refusal | null)[]): Refusal | null {
  return checks.find((c) => c !== null) ?? null;
}
