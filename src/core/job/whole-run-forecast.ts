import { normalQuantile, studentUpper } from '../quantity/special.ts';

export interface RunForecastInput {
  /** Minutes that each finished emitter took, from its first opening to its last shutting, with what lay between. */
  readonly doneMin: readonly number[];
  /** Minutes spent so far on the one open now, or null. */
  readonly openMin: number | null;
  /** Emitters not begun. */
  readonly left: number;
  /** Minutes of the stages still to come after the emitters, each as a least, usual and most. */
  readonly stagesMin: readonly { readonly least: number; readonly usual: number; readonly most: number }[];
}

export interface RunForecast {
  readonly minutes: number;
  readonly fromMin: number;
  readonly toMin: number;
  /** `first-guess`: no visit is done yet and common practice stands in for it; `stages`: no emitter is left, and visits tell nothing. */
  readonly basis: 'first-guess' | 'few-visits' | 'visits' | 'stages';
}

/** Minutes an emitter takes before any was seen, and the spread of its logarithm: common practice, no source. */
const guessMin = 12;
const guessLogSd = 0.6;
/** Sums of log-normal times reach further up than down; found so that 90 % hold in simulated runs. */
const skew = 1.25;
/** Weight of that guess against the visits seen, in visits. */
const guessWeight = 1;

/**
 * When will the run be done? Durations of visits are taken as log-normal; their mean logarithm and spread come from
 * those seen, with the guess counted as one more. The sum over what is left is spread by each visit's own scatter and by
 * not knowing the mean (Student's t, 90 %). The stages after are triangles between least, usual and most.
 */
export function runForecast(input: RunForecastInput): RunForecast {
  const logs = input.doneMin.filter((m) => m > 0).map(Math.log);
  const n = logs.length;
  const weight = n + guessWeight;
  const mean = (logs.reduce((a, b) => a + b, 0) + guessWeight * Math.log(guessMin)) / weight;
  const squares = logs.reduce((a, x) => a + (x - mean) ** 2, 0) + guessWeight * guessLogSd ** 2;
  const s2 = squares / weight;
  // Mean and variance of a log-normal.
  const each = Math.exp(mean + s2 / 2);
  const eachVar = each * each * (Math.exp(s2) - 1);
  const open = input.openMin === null ? 0 : openRest(input.openMin, each, s2, mean);
  const remaining = input.left + (input.openMin === null ? 0 : 1);
  const middle = input.left * each + open;
  const ofMean = (middle * middle * s2) / weight;
  let variance = remaining * eachVar + ofMean;
  let minutes = middle;
  for (const s of input.stagesMin) {
    minutes += (s.least + s.usual + s.most) / 3;
    variance += triangleVariance(s);
  }
  const t = studentUpper(0.05, Math.max(2, weight));
  const spread = t * Math.sqrt(variance);
  // What is left cannot be less than its least.
  const least = input.stagesMin.reduce((a, s) => a + s.least, 0);
  return {
    minutes,
    fromMin: Math.max(least, minutes - spread / skew),
    toMin: minutes + skew * spread,
    basis: remaining === 0 ? 'stages' : basisOf(n),
  };
}

function basisOf(visits: number): RunForecast['basis'] {
  if (visits === 0) return 'first-guess';
  return visits < 3 ? 'few-visits' : 'visits';
}

/** Mean rest of a visit that has lasted so long already: of log-normal durations, those longer than that. */
function openRest(soFar: number, each: number, s2: number, mean: number): number {
  if (soFar <= 0) return each;
  const quantiles = Array.from({ length: 39 }, (_, i) => Math.exp(mean + Math.sqrt(s2) * normalQuantile((i + 1) / 40)));
  const longer = quantiles.filter((q) => q > soFar);
  if (longer.length === 0) return 0.5 * soFar;
  return longer.reduce((a, q) => a + q - soFar, 0) / longer.length;
}

function triangleVariance(s: { least: number; usual: number; most: number }): number {
  const { least: a, usual: c, most: b } = s;
  return (a * a + b * b + c * c - a * b - a * c - b * c) / 18;
}
