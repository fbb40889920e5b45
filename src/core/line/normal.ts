/** Standard normal law, to about 1e-4: enough for thresholds from a budget. */

/** Quantile for p between 0.5 and 1. Abramowitz and Stegun 26.2.23 (|error| < 4.5e-4). */
export function normalQuantile(p: number): number {
  const q = Math.sqrt(-2 * Math.log(1 - p));
  const num = 2.515517 + q * (0.802853 + q * 0.010328);
  const den = 1 + q * (1.432788 + q * (0.189269 + q * 0.001308));
  return q - num / den;
}

/** P(Z < x). Abramowitz and Stegun 26.2.17 (|error| < 7.5e-8). */
export function normalCdf(x: number): number {
  const t = 1 / (1 + 0.2316419 * Math.abs(x));
  const poly = t * (0.31938153 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))));
  const tail = (Math.exp((-x * x) / 2) / Math.sqrt(2 * Math.PI)) * poly;
  return x >= 0 ? 1 - tail : tail;
}
