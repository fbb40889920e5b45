/**
 * Values with a standard uncertainty (one standard deviation, same unit), and the law of propagation for the few forms
 * the job needs: sums, products and quotients of independent quantities (JCGM 100:2008, 5.1.2 and its special cases).
 */
export interface Uncertain {
  readonly value: number;
  readonly u: number;
}

/** Coverage factor used wherever a decision is made: two standard uncertainties, about 95 % for a normal spread. */
export const coverage = 2;

export function exact(value: number): Uncertain {
  return { value, u: 0 };
}

/** A value known to lie between two bounds and no more: rectangular, u = half width / sqrt(3) (JCGM 100, 4.3.7). */
export function between(low: number, high: number): Uncertain {
  return { value: (low + high) / 2, u: Math.abs(high - low) / 2 / Math.sqrt(3) };
}

/** A value good to a share of itself, the share taken as one standard uncertainty. */
export function withShare(value: number, share: number): Uncertain {
  return { value, u: Math.abs(value) * share };
}

export function sum(...parts: readonly Uncertain[]): Uncertain {
  let value = 0;
  let squares = 0;
  for (const p of parts) {
    value += p.value;
    squares += p.u * p.u;
  }
  return { value, u: Math.sqrt(squares) };
}

export function minus(a: Uncertain, b: Uncertain): Uncertain {
  return { value: a.value - b.value, u: Math.hypot(a.u, b.u) };
}

export function times(a: Uncertain, b: Uncertain): Uncertain {
  return { value: a.value * b.value, u: Math.hypot(a.u * b.value, b.u * a.value) };
}

/** Quotient; NaN when the divisor is nought. */
export function over(a: Uncertain, b: Uncertain): Uncertain {
  if (b.value === 0) return { value: Number.NaN, u: Number.NaN };
  return { value: a.value / b.value, u: Math.hypot(a.u / b.value, (a.value * b.u) / (b.value * b.value)) };
}

/** Whether two independent values differ by more than their uncertainties explain. */
export function areApart(a: Uncertain, b: Uncertain): boolean {
  return Math.abs(a.value - b.value) > coverage * Math.hypot(a.u, b.u);
}

/** Where a value stands against an upper limit when its uncertainty is taken seriously. */
export function againstLimit(a: Uncertain, limit: number): 'under' | 'over' | 'undecided' {
  if (a.value + coverage * a.u <= limit) return 'under';
  if (a.value - coverage * a.u > limit) return 'over';
  return 'undecided';
}
