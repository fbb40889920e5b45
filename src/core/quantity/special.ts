/** Special functions of statistics, to about twelve digits unless said. Pure; NaN in gives NaN out. */

const lanczos = [
  0.99999999999980993, 676.5203681218851, -1259.1392167224028, 771.32342877765313, -176.61502916214059,
  12.507343278686905, -0.13857109526572012, 9.9843695780195716e-6, 1.5056327351493116e-7,
];

/** Natural logarithm of the gamma function for x > 0 (Lanczos approximation, g = 7, nine terms). */
export function logGamma(x: number): number {
  if (x < 0.5) return Math.log(Math.PI / Math.sin(Math.PI * x)) - logGamma(1 - x);
  const z = x - 1;
  let a = lanczos[0] ?? 1;
  for (let i = 1; i < lanczos.length; i++) a += (lanczos[i] ?? 0) / (z + i);
  const t = z + 7.5;
  return 0.5 * Math.log(2 * Math.PI) + (z + 0.5) * Math.log(t) - t + Math.log(a);
}

/** ln Gamma(a + 1/2) - ln Gamma(a), a > 0; by its asymptotic series from a = 12 on, where it holds to 1e-13. */
export function logGammaHalfStep(a: number): number {
  if (a < 12) return logGamma(a + 0.5) - logGamma(a);
  const r = 1 / a;
  const r2 = r * r;
  return 0.5 * Math.log(a) - r * (1 / 8 - r2 * (1 / 192 - r2 * (1 / 640 - r2 * (17 / 14336 - (r2 * 31) / 18432))));
}

/** Standard normal density. */
export function normalPdf(x: number): number {
  return Math.exp(-0.5 * x * x) / Math.sqrt(2 * Math.PI);
}

/** Standard normal distribution function, by the incomplete gamma function: relative accuracy holds in both tails. */
export function normalCdf(x: number): number {
  if (Number.isNaN(x)) return x;
  const q = 0.5 * gammaQ(0.5, 0.5 * x * x);
  return x > 0 ? 1 - q : q;
}

/** Inverse of `normalCdf`, 0 < p < 1: Abramowitz and Stegun 26.2.23, then three Halley steps. */
export function normalQuantile(p: number): number {
  if (!(p > 0 && p < 1)) return p === 0 ? -Infinity : p === 1 ? Infinity : Number.NaN;
  if (p > 0.5) return -normalQuantile(1 - p);
  const t = Math.sqrt(-2 * Math.log(p));
  // The start is good to 4.5e-4.
  let x = -(
    t -
    (2.515517 + 0.802853 * t + 0.010328 * t * t) / (1 + 1.432788 * t + 0.189269 * t * t + 0.001308 * t ** 3)
  );
  for (let i = 0; i < 3; i++) {
    const e = (normalCdf(x) - p) / normalPdf(x);
    x -= e / (1 + (x * e) / 2);
  }
  return x;
}

/** Regularised upper incomplete gamma function Q(a, x), a > 0, x >= 0 (series below a + 1, continued fraction above). */
export function gammaQ(a: number, x: number): number {
  if (x <= 0) return 1;
  if (x < a + 1) return 1 - gammaSeries(a, x);
  const tiny = 1e-300;
  let b = x + 1 - a;
  let c = 1 / tiny;
  let d = 1 / b;
  let h = d;
  for (let i = 1; i < 500; i++) {
    const an = -i * (i - a);
    b += 2;
    d = 1 / nonZero(an * d + b, tiny);
    c = nonZero(b + an / c, tiny);
    h *= d * c;
    if (Math.abs(d * c - 1) < 1e-15) break;
  }
  return Math.exp(-x + a * Math.log(x) - logGamma(a)) * h;
}

function gammaSeries(a: number, x: number): number {
  let term = 1 / a;
  let sum = term;
  for (let i = 1; i < 1000 && Math.abs(term) > Math.abs(sum) * 1e-16; i++) {
    term *= x / (a + i);
    sum += term;
  }
  return sum * Math.exp(-x + a * Math.log(x) - logGamma(a));
}

function nonZero(x: number, tiny: number): number {
  return Math.abs(x) < tiny ? tiny : x;
}

/** Chance that a chi-squared variable with `dof` degrees of freedom is over x. */
export function chiSquaredTail(x: number, dof: number): number {
  return gammaQ(dof / 2, x / 2);
}

/** Value that a chi-squared variable with `dof` degrees of freedom exceeds with chance `tail`. */
export function chiSquaredUpper(tail: number, dof: number): number {
  let low = 0;
  let high = dof + 10;
  while (chiSquaredTail(high, dof) > tail) high *= 2;
  for (let i = 0; i < 200 && high - low > 1e-12 * high; i++) {
    const mid = (low + high) / 2;
    if (chiSquaredTail(mid, dof) > tail) low = mid;
    else high = mid;
  }
  return (low + high) / 2;
}

/** Regularised incomplete beta function I_x(a, b) (continued fraction, modified Lentz). */
export function betaI(x: number, a: number, b: number): number {
  if (x <= 0) return 0;
  if (x >= 1) return 1;
  if (x > (a + 1) / (a + b + 2)) return 1 - betaI(1 - x, b, a);
  const tiny = 1e-300;
  let c = 1;
  let d = 1 / nonZero(1 - ((a + b) * x) / (a + 1), tiny);
  let h = d;
  for (let m = 1; m < 500; m++) {
    const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m));
    d = 1 / nonZero(1 + even * d, tiny);
    c = nonZero(1 + even / c, tiny);
    h *= d * c;
    const odd = (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
    d = 1 / nonZero(1 + odd * d, tiny);
    c = nonZero(1 + odd / c, tiny);
    h *= d * c;
    if (Math.abs(d * c - 1) < 1e-15) break;
  }
  const front = a * Math.log(x) + b * Math.log(1 - x) + logGamma(a + b) - logGamma(a) - logGamma(b);
  return (Math.exp(front) * h) / a;
}

/** Chance that a Student-t variable with `dof` degrees of freedom is over t. */
export function studentTail(t: number, dof: number): number {
  const half = 0.5 * betaI(dof / (dof + t * t), dof / 2, 0.5);
  return t > 0 ? half : 1 - half;
}

/** Value that a Student-t variable exceeds with chance `tail` (0 < tail < 1), by bisection. */
export function studentUpper(tail: number, dof: number): number {
  if (tail > 0.5) return -studentUpper(1 - tail, dof);
  let low = 0;
  let high = 10;
  while (studentTail(high, dof) > tail) high *= 2;
  for (let i = 0; i < 200 && high - low > 1e-12 * high; i++) {
    const mid = (low + high) / 2;
    if (studentTail(mid, dof) > tail) low = mid;
    else high = mid;
  }
  return (low + high) / 2;
}
