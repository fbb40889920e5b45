import type { Curve } from './curve.ts';
import { applyCurve } from './curve.ts';

/** One standard as read: its true value with uncertainty, and what the sensor gave for it. */
export interface Standard {
  /** In the channel's unit. */
  readonly value: number;
  readonly u: number;
  /** Mean raw reading, V or count, and the standard uncertainty of that mean. */
  readonly raw: number;
  readonly uRaw: number;
}

export interface Fit {
  readonly curve: Curve;
  /** Value by the curve minus value of the standard, in the order given. */
  readonly residuals: readonly number[];
  /** Root mean square of the residuals over the degrees of freedom; null where there are none. */
  readonly residualSd: number | null;
}

/** Why standards cannot make a curve; said to the person who calibrates. */
export class FitError extends Error {}

function check(standards: readonly Standard[]): void {
  if (standards.length < 2) {
    throw new FitError(`A curve needs two standards or more; ${standards.length} given. Measure another one.`);
  }
  for (const s of standards) {
    if (![s.value, s.u, s.raw, s.uRaw].every(Number.isFinite) || s.u < 0 || s.uRaw < 0) {
      throw new FitError(
        `The standard ${s.value} has a reading or an uncertainty that is not a number. Measure it again.`,
      );
    }
  }
  const raws = new Set(standards.map((s) => s.raw));
  if (raws.size < 2) {
    throw new FitError(
      'All standards gave the same raw reading: the sensor does not answer. Check its plug and window.',
    );
  }
}

/**
 * Straight line by weighted least squares, value on raw. Each standard weighs by its own uncertainty, the raw one
 * carried over by the slope (effective variance, two rounds). When the scatter is larger than the stated uncertainties
 * explain, the covariance is widened by it (Birge ratio), never narrowed.
 */
export function fitLine(standards: readonly Standard[]): Fit {
  check(standards);
  let slope = roughSlope(standards);
  let result = weighted(standards, slope);
  for (let round = 0; round < 3; round++) {
    slope = result.b;
    result = weighted(standards, slope);
  }
  const freedom = standards.length - 2;
  const birge = freedom > 0 ? Math.max(1, result.chi2 / freedom) : 1;
  const [aa, ab, bb] = result.covariance;
  const raws = standards.map((s) => s.raw);
  const curve: Curve = {
    kind: 'line',
    a: result.a,
    b: result.b,
    covariance: [aa * birge, ab * birge, bb * birge],
    fromRaw: Math.min(...raws),
    toRaw: Math.max(...raws),
  };
  return withResiduals(curve, standards, freedom);
}

/**
 * Straight pieces through the standards, forced to rise (or fall) throughout by pooling neighbours that go the wrong
 * way (pool adjacent violators, weighted), for sensors that are not straight over their range.
 */
export function fitSteps(standards: readonly Standard[]): Fit {
  check(standards);
  const sorted = [...standards].sort((p, q) => p.raw - q.raw);
  const rising = roughSlope(sorted) >= 0 ? 1 : -1;
  type Block = { raw: number; value: number; weight: number; count: number };
  const blocks: Block[] = [];
  for (const s of sorted) {
    const weight = 1 / Math.max(s.u ** 2, 1e-12);
    blocks.push({ raw: s.raw, value: s.value, weight, count: 1 });
    for (let last = blocks.at(-1), before = blocks.at(-2); last && before; ) {
      const wrong = before.raw === last.raw || rising * (last.value - before.value) <= 0;
      if (!wrong) break;
      const weight2 = before.weight + last.weight;
      blocks.splice(-2, 2, {
        raw: (before.raw * before.count + last.raw * last.count) / (before.count + last.count),
        value: (before.value * before.weight + last.value * last.weight) / weight2,
        weight: weight2,
        count: before.count + last.count,
      });
      last = blocks.at(-1);
      before = blocks.at(-2);
    }
  }
  if (blocks.length < 2) {
    throw new FitError(
      'The standards rise and fall without order, so no curve fits them. Check which is which, and measure again.',
    );
  }
  const raws = sorted.map((s) => s.raw);
  const curve: Curve = {
    kind: 'steps',
    knots: blocks.map((b) => ({ raw: b.raw, value: b.value, u: knotU(b.raw, sorted, blocks) })),
    fromRaw: Math.min(...raws),
    toRaw: Math.max(...raws),
  };
  return withResiduals(curve, standards, Math.max(0, standards.length - blocks.length));
}

/** Uncertainty at a knot: the nearest standard's own, with its raw part carried over by the local slope. */
function knotU(raw: number, sorted: readonly Standard[], blocks: readonly { raw: number; value: number }[]): number {
  const nearest = sorted.reduce((best, s) => (Math.abs(s.raw - raw) < Math.abs(best.raw - raw) ? s : best));
  const i = blocks.findIndex((b) => b.raw === raw);
  const left = blocks[Math.max(0, i - 1)];
  const right = blocks[Math.min(blocks.length - 1, i + 1)];
  const slope = left && right && right.raw !== left.raw ? (right.value - left.value) / (right.raw - left.raw) : 0;
  return Math.hypot(nearest.u, slope * nearest.uRaw);
}

function roughSlope(standards: readonly Standard[]): number {
  const low = standards.reduce((a, b) => (b.raw < a.raw ? b : a));
  const high = standards.reduce((a, b) => (b.raw > a.raw ? b : a));
  return (high.value - low.value) / (high.raw - low.raw);
}

function weighted(
  standards: readonly Standard[],
  slope: number,
): { a: number; b: number; covariance: [number, number, number]; chi2: number } {
  const variances = standards.map((s) => s.u ** 2 + (slope * s.uRaw) ** 2);
  const floor = Math.max(...variances) * 1e-6 || 1e-12;
  let sw = 0;
  let sx = 0;
  let sy = 0;
  const weights = variances.map((v) => 1 / Math.max(v, floor));
  for (const [i, s] of standards.entries()) {
    const w = weights[i] ?? 0;
    sw += w;
    sx += w * s.raw;
    sy += w * s.value;
  }
  const mx = sx / sw;
  const my = sy / sw;
  let sxx = 0;
  let sxy = 0;
  for (const [i, s] of standards.entries()) {
    const w = weights[i] ?? 0;
    sxx += w * (s.raw - mx) ** 2;
    sxy += w * (s.raw - mx) * (s.value - my);
  }
  const b = sxy / sxx;
  const a = my - b * mx;
  const chi2 = standards.reduce((sum, s, i) => sum + (weights[i] ?? 0) * (s.value - a - b * s.raw) ** 2, 0);
  return { a, b, covariance: [1 / sw + (mx * mx) / sxx, -mx / sxx, 1 / sxx], chi2 };
}

function withResiduals(curve: Curve, standards: readonly Standard[], freedom: number): Fit {
  const residuals = standards.map((s) => applyCurve(curve, s.raw).value - s.value);
  const sum = residuals.reduce((a, r) => a + r * r, 0);
  return { curve, residuals, residualSd: freedom > 0 ? Math.sqrt(sum / freedom) : null };
}
