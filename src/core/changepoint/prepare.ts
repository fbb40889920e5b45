import { median, quantile } from '../quantity/robust.ts';
import { prefix } from './cost.ts';
import { noiseOf } from './still.ts';

/**
 * Values with lone spikes brought back to their neighbours: one or two values that stand off from the three on either
 * side by over `width` noise deviations, where the sides agree, are no new regime. Steps and edges stay as they are.
 */
export function withoutSpikes(values: Float64Array, width = 5): Float64Array {
  const n = values.length;
  const out = values.slice();
  const sd = noiseOf(values);
  if (!(sd > 0)) return out;
  for (let run = 1; run <= 2; run++)
    for (let i = 3; i + run + 3 <= n; i++) {
      const before = median(out.subarray(i - 3, i));
      const after = median(out.subarray(i + run, i + run + 3));
      const low = Math.min(before, after) - width * sd;
      const high = Math.max(before, after) + width * sd;
      let off = true;
      for (let j = i; j < i + run; j++) if ((out[j] ?? 0) >= low && (out[j] ?? 0) <= high) off = false;
      if (!off || Math.abs(before - after) > width * sd) continue;
      for (let j = i; j < i + run; j++) out[j] = (before + after) / 2;
    }
  return out;
}

/** Centred moving average over one period (both ends half weighted when it is even); edges repeat the nearest. */
function trendOf(values: Float64Array, period: number): Float64Array {
  const n = values.length;
  const half = Math.floor(period / 2);
  const sum = new Float64Array(n + 1);
  for (let i = 0; i < n; i++) sum[i + 1] = (sum[i] ?? 0) + (values[i] ?? 0);
  const out = new Float64Array(n);
  for (let i = half; i + half < n; i++) {
    const from = i - half;
    const to = i + half + 1;
    const whole = (sum[to] ?? 0) - (sum[from] ?? 0);
    const ends = (values[from] ?? 0) + (values[to - 1] ?? 0);
    out[i] = period % 2 === 0 ? (whole - ends / 2) / period : whole / period;
  }
  for (let i = 0; i < half; i++) out[i] = out[half] ?? 0;
  for (let i = n - half; i < n; i++) out[i] = out[n - half - 1] ?? 0;
  return out;
}

/** Median of each phase of a detrended series, centred; medians so that a few odd years do not draw a season. */
function phasesOf(detrended: Float64Array, period: number, from: number, to: number): Float64Array {
  const phases = new Float64Array(period);
  for (let p = 0; p < period; p++) {
    const all: number[] = [];
    for (let i = from + ((((p - from) % period) + period) % period); i < to; i += period) all.push(detrended[i] ?? 0);
    phases[p] = all.length > 0 ? median(all) : 0;
  }
  const mean = phases.reduce((a, b) => a + b, 0) / period;
  return phases.map((v) => v - mean);
}

export interface Season {
  readonly period: number;
  /** Share of the detrended variance that the season explains, 0..1. */
  readonly strength: number;
}

/**
 * The season of a series, if it has one: the period (at least `least` whole cycles) whose phase medians explain the
 * detrended values best, and at least 60 % of them by halves: the phases found in one half must explain the other.
 * Null when there is none.
 */
export function seasonOf(values: Float64Array, cycles = 4): Season | null {
  const longest = Math.floor(values.length / cycles);
  const plain = bestOf(values, candidatePeriods(values, longest, 1));
  if (plain) return plain;
  for (const span of wide) {
    const rough = bestOf(values, candidatePeriods(values, longest, span));
    if (!rough) continue;
    // The peak is flat.
    const off = Math.ceil(rough.period / 20);
    let best = rough;
    for (let period = rough.period - off; period <= Math.min(longest, rough.period + off); period++) {
      const near = bestOf(values, [period]);
      if (near && near.strength > best.strength) best = near;
    }
    if (best.strength > sureStrength) return best;
  }
  return null;
}

/** Rows of the means whose differences show a slow season in noise, and its period roughly. */
const wide = [8, 24] as const;

/** A season that single rows do not show could be a few levels by turns: it must explain more. */
const sureStrength = 0.8;

function bestOf(values: Float64Array, periods: readonly number[]): Season | null {
  const n = values.length;
  let best: Season | null = null;
  for (const period of periods) {
    const half = Math.floor(period / 2);
    const trend = trendOf(values, period);
    const detrended = values.map((v, i) => v - (trend[i] ?? 0));
    const mid = Math.floor(n / 2);
    const strength =
      (explained(detrended, phasesOf(detrended, period, half, mid), mid, n - half) +
        explained(detrended, phasesOf(detrended, period, mid, n - half), half, mid)) /
      2;
    // A multiple of the true period explains a little more by chance; it must explain clearly more.
    if (strength > 0.6 && strength > (best?.strength ?? 0) + 0.03) best = { period, strength };
  }
  return best;
}

function explained(detrended: Float64Array, phases: Float64Array, from: number, to: number): number {
  let whole = 0;
  let left = 0;
  for (let i = from; i < to; i++) {
    const v = detrended[i] ?? 0;
    whole += v * v;
    left += (v - (phases[i % phases.length] ?? 0)) ** 2;
  }
  return whole > 0 ? 1 - left / whole : 0;
}

/** Lags at which the differences of means of `span` rows agree with themselves best, ascending: peaks of their autocorrelation over 0.3. */
function candidatePeriods(values: Float64Array, longest: number, span: number): number[] {
  const n = values.length;
  const sums = prefix(n, (i) => values[i] ?? 0);
  const step = (i: number): number => (sums[i + 2 * span] ?? 0) - 2 * (sums[i + span] ?? 0) + (sums[i] ?? 0);
  const d = Float64Array.from({ length: Math.max(0, n - 2 * span + 1) }, (_, i) => step(i));
  const cap = 4 * quantile(d.map(Math.abs), 0.75);
  if (!(cap > 0)) return [];
  const x = d.map((v) => Math.max(-cap, Math.min(cap, v)));
  let whole = 0;
  for (const v of x) whole += v * v;
  const most = Math.min(longest, 400);
  const acf = new Float64Array(most + 2);
  for (let lag = 1; lag <= most + 1; lag++) {
    let s = 0;
    for (let i = 0; i + lag < x.length; i++) s += (x[i] ?? 0) * (x[i + lag] ?? 0);
    acf[lag] = (s / whole) * (x.length / Math.max(1, x.length - lag));
  }
  const out: number[] = [];
  // Differences that share rows agree whatever the values.
  for (let lag = span === 1 ? 2 : 4 * span; lag <= most; lag++) {
    const a = acf[lag] ?? 0;
    if (a > 0.3 && a >= (acf[lag - 1] ?? 0) && a >= (acf[lag + 1] ?? 0)) out.push(lag);
  }
  return out
    .sort((a, b) => (acf[b] ?? 0) - (acf[a] ?? 0))
    .slice(0, 5)
    .sort((a, b) => a - b);
}

/** The series with its season taken off. */
export function deseasoned(values: Float64Array, period: number): Float64Array {
  const trend = trendOf(values, period);
  const half = Math.floor(period / 2);
  const detrended = values.map((v, i) => v - (trend[i] ?? 0));
  const phases = phasesOf(detrended, period, half, values.length - half);
  return values.map((v, i) => v - (phases[i % period] ?? 0));
}
