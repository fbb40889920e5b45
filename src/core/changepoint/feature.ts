import { madSd, median } from '../quantity/robust.ts';

/** Stretches that are looked at, rows; nothing shorter than three rows declares, so a lone spike cannot. */
export const stretches = [3, 4, 5, 7, 10, 14, 20, 28, 40, 56, 80] as const;

/** How far back an onset may be dated, rows. */
export const longestDated = 120;

/** A standardised value further out than this counts as this far at most: a wild value weighs no more than a clear one. */
const furthest = 6;

/** Share of the bound that one wild value may come to in the shortest stretch: it must not declare. */
const wildShare = 0.6;

/** How far a value counts: as a wild one may, and where a short reference asks for much evidence, as far as five rows need to declare. */
export function furthestFor(bound: number, rows: number): number {
  return Math.max(Math.min(furthest, wildest(bound, rows)), 1.1 * bound * Math.sqrt(1 / 5 + 1 / rows));
}

/** How far all wild rows of the shortest stretch together may lie. */
export function wildest(bound: number, rows: number): number {
  const [least] = stretches;
  return wildShare * bound * least * Math.sqrt(1 / least + 1 / rows);
}

/** Noise of a column that never moved: a billionth of its level. */
export function traceOf(mean: number): number {
  return 1e-9 * Math.max(1e-3, Math.abs(mean));
}

/** One derived series: standardised by its reference, with the reference's own memory in the weights. */
export class Feature {
  mean = 0;
  /** Of the mean, a row; `age` counts rows from the first of the regime. */
  slope = 0;
  sd = 1;
  /** Standard deviation of the mean of a stretch, in sd of one value, per stretch: learned, so memory is in it. */
  spread: number[] = [];
  furthest = furthest;
  readonly sums: Float64Array;
  count = 0;

  constructor(size: number) {
    this.sums = new Float64Array(size);
  }

  /** @param slope that the values are taken to have, a row, from the first one on */
  learn(seen: readonly number[], slope = 0): void {
    const values = slope === 0 ? seen : seen.map((v, i) => v - slope * i);
    this.slope = 0;
    this.mean = median(values);
    let sd = madSd(values);
    const plain = Math.sqrt(values.reduce((s, v) => s + (v - this.mean) ** 2, 0) / Math.max(1, values.length - 1));
    // Half the plain deviation is the least that a MAD is believed: a coarse converter has a MAD of nought.
    sd = Math.max(sd, 0.5 * plain);
    // Noise that was seen is believed down to rounding; a column that never moved is given a trace of it.
    sd = sd > 0 ? Math.max(sd, 1e-15 * Math.abs(this.mean)) : traceOf(this.mean);
    this.sd = sd;
    const z = values.map((v) => this.standard(v));
    this.mean += sd * (z.reduce((s, v) => s + v, 0) / z.length);
    this.spread = spreads(values.map((v) => this.standard(v)));
    this.slope = slope;
  }

  standard(v: number, age = 0): number {
    const z = (v - this.mean - this.slope * age) / this.sd;
    return Math.max(-this.furthest, Math.min(this.furthest, z));
  }

  push(v: number, age = 0): void {
    const mask = this.sums.length - 1;
    const sum = (this.sums[this.count & mask] ?? 0) + this.standard(v, age);
    this.count++;
    this.sums[this.count & mask] = sum;
  }

  clear(): void {
    this.count = 0;
    this.sums[0] = 0;
  }

  /** Rows since the change, at a declaration: the stretch of any length that stands out most. */
  dated(n: number): number {
    const mask = this.sums.length - 1;
    const now = this.sums[this.count & mask] ?? 0;
    let level = 0;
    let rows = 1;
    let i = 0;
    for (let k = 1; k <= Math.min(this.count, longestDated); k++) {
      while (i + 1 < stretches.length && (stretches[i + 1] ?? 0) <= k) i++;
      const factor = this.memory(i, n);
      const z = Math.abs(now - (this.sums[(this.count - k) & mask] ?? 0)) / (k * factor * Math.sqrt(1 / k + 1 / n));
      if (z <= level) continue;
      level = z;
      rows = k;
    }
    return rows;
  }

  /** How many times the deviation of a stretch's mean (the i-th length) is what it would be without memory. */
  memory(i: number, n: number): number {
    return (this.spread[i] ?? 1) / Math.sqrt(1 / (stretches[i] ?? 1) + 1 / n);
  }

  /** The same for the last `rows`. */
  memoryOf(rows: number, n: number): number {
    return this.memory(
      Math.max(
        0,
        stretches.findLastIndex((k) => k <= rows),
      ),
      n,
    );
  }

  /** Greatest standardised stretch mean that ends now. */
  top(): number {
    const mask = this.sums.length - 1;
    const now = this.sums[this.count & mask] ?? 0;
    let level = 0;
    for (let i = 0; i < stretches.length; i++) {
      const k = stretches[i] ?? 1;
      if (k > this.count) break;
      const mean = (now - (this.sums[(this.count - k) & mask] ?? 0)) / k;
      const z = Math.abs(mean) / (this.spread[i] ?? 1);
      if (z > level) level = z;
    }
    return level;
  }
}

/**
 * Standard deviation of stretch means of the reference, per stretch length: at least what white noise gives, never
 * falling faster than seen, and with the uncertainty of the reference mean itself. Where the reference is too short
 * for a length (under eight stretches), the trend of the shorter ones goes on.
 */
function spreads(z: readonly number[]): number[] {
  const n = z.length;
  const sums = [0];
  for (const v of z) sums.push((sums[sums.length - 1] ?? 0) + v);
  const whole = Math.max(1, Math.sqrt(z.reduce((s, v) => s + v * v, 0) / n));
  const out: number[] = [];
  let factor = whole;
  let growth = 1;
  for (const k of stretches) {
    if (n >= 8 * k) {
      let s = 0;
      let m = 0;
      for (let i = 0; i + k <= n; i++) {
        s += (((sums[i + k] ?? 0) - (sums[i] ?? 0)) / k) ** 2;
        m++;
      }
      const seen = Math.max(factor, Math.sqrt((s / m) * k));
      growth = out.length > 0 ? Math.min(1.25, seen / factor) : 1;
      factor = seen;
    } else factor *= growth;
    out.push(factor * Math.sqrt(1 / k + 1 / n));
  }
  return out;
}
