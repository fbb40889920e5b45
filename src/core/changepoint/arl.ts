import { normalCdf, normalPdf } from '../quantity/special.ts';

/**
 * Mean number of Gaussian samples (variance 1) until a one-sided CUSUM with allowance `k` and decision interval `h`
 * declares, the values having mean `shift`, in standard deviations. Solves Page's integral equation
 *   L(u) = 1 + L(0) Phi(k - shift - u) + int_0^h L(s) phi(s + k - shift - u) ds
 * at Gauss-Legendre nodes (Nystrom). Agrees with Brook and Evans 1972 and Lucas and Crosier 1982 to their printed digits.
 * @param from head start of the sum, 0..h
 */
export function cusumArl(k: number, h: number, shift = 0, from = 0): number {
  const n = Math.max(24, Math.ceil(12 * h));
  const { nodes, weights } = gaussLegendre(n, 0, h);
  // Unknowns: L(0), then L at the nodes.
  const size = n + 1;
  const at = (i: number): number => (i === 0 ? 0 : (nodes[i - 1] ?? 0));
  const a: Float64Array[] = [];
  for (let i = 0; i < size; i++) {
    const row = new Float64Array(size + 1);
    row[0] = -normalCdf(k - shift - at(i));
    for (let j = 1; j < size; j++) row[j] = -(weights[j - 1] ?? 0) * normalPdf(at(j) + k - shift - at(i));
    row[i] = (row[i] ?? 0) + 1;
    row[size] = 1;
    a.push(row);
  }
  const solution = solve(a);
  let value = 1 + (solution[0] ?? 0) * normalCdf(k - shift - from);
  for (let j = 1; j < size; j++)
    value += (solution[j] ?? 0) * (weights[j - 1] ?? 0) * normalPdf(at(j) + k - shift - from);
  return value;
}

/** As `cusumArl`, both sides watched, no head start: 1/L = 1/L(up) + 1/L(down) (exact for 2k >= 0, Kemp 1961). */
export function cusumArlTwoSided(k: number, h: number, shift = 0): number {
  return 1 / (1 / cusumArl(k, h, shift) + 1 / cusumArl(k, h, -shift));
}

/** Mean time between false alarms, in samples, at which a stretch of `samples` has a false one with chance `budget`. */
export function arlForBudget(budget: number, samples: number): number {
  if (!(budget > 0 && budget < 1) || !(samples > 0))
    throw new RangeError(
      `A false-alarm budget lies between 0 and 1 over at least 1 sample; got ${budget} over ${samples}.`,
    );
  return -samples / Math.log1p(-budget);
}

/** Chance of at least one false alarm in `samples` samples, at a mean time between false alarms of `arl`. */
export function falseAlarmChance(arl: number, samples: number): number {
  return -Math.expm1(-samples / arl);
}

/** Decision interval h that gives the wanted in-control average run length, by bisection on the integral equation. */
export function cusumThreshold(arl: number, k: number, side: 'one' | 'two'): number {
  const one = side === 'one' ? arl : 2 * arl;
  let low = 1e-6;
  let high = 1;
  while (cusumArl(k, high) < one) {
    low = high;
    high *= 1.5;
    if (high > 200)
      throw new RangeError(`No CUSUM threshold under 200 sd gives a mean of ${arl} samples with k = ${k}.`);
  }
  for (let i = 0; i < 40 && high - low > 1e-7; i++) {
    const mid = (low + high) / 2;
    if (cusumArl(k, mid) < one) low = mid;
    else high = mid;
  }
  return (low + high) / 2;
}

/**
 * Mean samples between false alarms of the window-limited GLR for a shift of mean (Siegmund and Venkatraman 1995):
 *   sqrt(2 pi) e^(b^2/2) / (b int x nu(x)^2 dx), x from b / sqrt(window) to b / sqrt(least),
 * two-sided; twice that for one side. `b` is the threshold in standard deviations, reference told (or long).
 */
export function glrArl(b: number, window: number, least: number, side: 'one' | 'two'): number {
  const from = b / Math.sqrt(window);
  const to = b / Math.sqrt(least);
  const { nodes, weights } = gaussLegendre(64, from, to);
  let integral = 0;
  for (let i = 0; i < nodes.length; i++) {
    const x = nodes[i] ?? 0;
    integral += (weights[i] ?? 0) * x * overshoot(x) ** 2;
  }
  const two = (Math.sqrt(2 * Math.PI) * Math.exp((b * b) / 2)) / (b * integral);
  return side === 'two' ? two : 2 * two;
}

/** Siegmund's nu(x): correction for the overshoot of a Gaussian walk, in the closed form of Siegmund and Yakir 2007. */
function overshoot(x: number): number {
  const half = x / 2;
  return ((2 / x) * (normalCdf(half) - 0.5)) / (half * normalCdf(half) + normalPdf(half));
}

/** Threshold in standard deviations for `Glr` that gives the wanted mean number of samples between false alarms. */
export function glrThreshold(arl: number, window: number, least: number, side: 'one' | 'two'): number {
  let low = 1;
  let high = 40;
  for (let i = 0; i < 100 && high - low > 1e-9; i++) {
    const mid = (low + high) / 2;
    if (glrArl(mid, window, least, side) < arl) low = mid;
    else high = mid;
  }
  return (low + high) / 2;
}

/** A thinned grid of stretches declares so much more seldom than the theory's, which looks at every length; simulated. */
const thinned = 1.08;

/**
 * Threshold for a `Glr` that learns its reference from `samples` values: the measured mean time between false alarms, over
 * all references that chance may give, is then near the wanted one. Some references come out wide and are silent for long,
 * and the bound of Student's t is wider for all: together a factor of about exp(b^4 / samples) on the theory's time, which
 * is fitted to simulations (300 to 3600 samples between alarms, references of 500, 2000 and told; within 10 %). Run again
 * by `npx tsx bench/changepoint.ts --delay`.
 */
export function glrThresholdLearned(
  arl: number,
  window: number,
  least: number,
  side: 'one' | 'two',
  samples: number,
): number {
  let low = 1;
  let high = glrThreshold(arl, window, least, side);
  for (let i = 0; i < 60 && high - low > 1e-9; i++) {
    const mid = (low + high) / 2;
    if (thinned * Math.exp(mid ** 4 / samples) * glrArl(mid, window, least, side) < arl) low = mid;
    else high = mid;
  }
  return (low + high) / 2;
}

/** Nodes and weights of Gauss-Legendre quadrature on [a, b], by Newton's method on the Legendre polynomial. */
export function gaussLegendre(n: number, a: number, b: number): { nodes: Float64Array; weights: Float64Array } {
  const nodes = new Float64Array(n);
  const weights = new Float64Array(n);
  const mid = (a + b) / 2;
  const half = (b - a) / 2;
  for (let i = 0; i < (n + 1) >> 1; i++) {
    let x = Math.cos((Math.PI * (i + 0.75)) / (n + 0.5));
    let slope = 1;
    for (let turn = 0; turn < 100; turn++) {
      let p = 1;
      let before = 0;
      for (let j = 0; j < n; j++) [p, before] = [((2 * j + 1) * x * p - j * before) / (j + 1), p];
      slope = (n * (x * p - before)) / (x * x - 1);
      const dx = p / slope;
      x -= dx;
      if (Math.abs(dx) < 1e-15) break;
    }
    const w = (2 * half) / ((1 - x * x) * slope * slope);
    nodes[i] = mid - half * x;
    nodes[n - 1 - i] = mid + half * x;
    weights[i] = w;
    weights[n - 1 - i] = w;
  }
  return { nodes, weights };
}

/** Gaussian elimination with partial pivoting; each row carries its right-hand side last. */
function solve(a: Float64Array[]): Float64Array {
  const n = a.length;
  for (let c = 0; c < n; c++) {
    let p = c;
    for (let r = c + 1; r < n; r++) if (Math.abs(a[r]?.[c] ?? 0) > Math.abs(a[p]?.[c] ?? 0)) p = r;
    const pivot = a[p];
    const swap = a[c];
    if (!pivot || !swap) break;
    a[p] = swap;
    a[c] = pivot;
    const head = pivot[c] ?? 1;
    for (let r = c + 1; r < n; r++) {
      const row = a[r];
      const f = (row?.[c] ?? 0) / head;
      if (!row || f === 0) continue;
      for (let j = c; j <= n; j++) row[j] = (row[j] ?? 0) - f * (pivot[j] ?? 0);
    }
  }
  const x = new Float64Array(n);
  for (let r = n - 1; r >= 0; r--) {
    const row = a[r];
    let s = row?.[n] ?? 0;
    for (let j = r + 1; j < n; j++) s -= (row?.[j] ?? 0) * (x[j] ?? 0);
    x[r] = s / (row?.[r] ?? 1);
  }
  return x;
}
