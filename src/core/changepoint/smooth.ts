import { prefix } from './cost.ts';

/**
 * Sum of squared innovations when a whole series is one smooth curve, a polynomial of the given degree, under noise
 * with memory `phi`: what a run of bends has to beat. Orthogonal polynomials on the rows (Forsythe 1957), so any
 * length is safe; the first value is held against the stationary law.
 */
export function curveSquares(values: Float64Array, degree: number, phi: number): number {
  const n = values.length;
  const w = Math.sqrt(1 - phi * phi);
  const whiten = (x: Float64Array): Float64Array => x.map((v, i) => (i === 0 ? w * v : v - phi * (x[i - 1] ?? 0)));
  const basis: Float64Array[] = [];
  let left = whiten(values);
  for (let d = 0; d <= degree; d++) {
    let b = whiten(Float64Array.from({ length: n }, (_, i) => ((2 * i) / Math.max(1, n - 1) - 1) ** d));
    for (let turn = 0; turn < 2; turn++) for (const other of basis) b = less(b, other);
    const size = Math.sqrt(dot(b, b));
    if (size < 1e-9 * Math.sqrt(n)) continue;
    b = b.map((v) => v / size);
    basis.push(b);
    left = less(left, b);
  }
  return dot(left, left);
}

function dot(a: Float64Array, b: Float64Array): number {
  let s = 0;
  for (let i = 0; i < a.length; i++) s += (a[i] ?? 0) * (b[i] ?? 0);
  return s;
}

function less(a: Float64Array, unit: Float64Array): Float64Array {
  const f = dot(a, unit);
  return a.map((v, i) => v - f * (unit[i] ?? 0));
}

/** Means of blocks of `size` rows, the last one perhaps shorter: every row counts. */
export function blockMeans(values: Float64Array, size: number): Float64Array {
  const sums = prefix(values.length, (i) => values[i] ?? 0);
  const count = Math.ceil(values.length / size);
  return Float64Array.from({ length: count }, (_, b) => {
    const from = b * size;
    const to = Math.min(values.length, from + size);
    return ((sums[to] ?? 0) - (sums[from] ?? 0)) / (to - from);
  });
}
