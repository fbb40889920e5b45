import { decay } from '../quantity/decay.ts';
import type { Series } from '../signal/series.ts';
import { Parts } from './parts.ts';

/**
 * What stands in the return line, split by a least-squares fit of the last stretch of readings:
 *
 *   y(v) = B + A exp(-(v - v0) / c) + p K(v) + S exp(-(v - vp) / cs) + noise
 *
 * in litres v: background B, the washout of what the last pass set free (an emitter empties like a stirred tank, or
 * a few: Levenspiel, Chemical Reaction Engineering, ch. 14), the echo p K, and the slow tail of a deposit that goes on giving
 * after its peak at vp: first order, over some washouts. B, p and S carry what is known from before
 * as priors, so a tail cannot pass for background unless it is flat beyond what any washout could be. The level to which the
 * return settles is B and, of the echo, what has evened out. The washout
 * volume c is not fitted but averaged over a bank of values, each weighted by how well it explains the stretch.
 */
export interface FitPrior {
  readonly backgroundNtu: number;
  readonly backgroundSd: number;
  readonly echoShare: number;
  readonly echoShareSd: number;
  /** Largest K of the stretch and of what the loop still holds: where the echo comes a little sooner, later or wider than K. */
  readonly echoPeak: number;
  /** Centre of the bank of washout volumes, litres. */
  readonly washoutL: number;
  /** Of the slow tail: standard deviation of what it amounts to at the peak, NTU, and litres of that peak. */
  readonly slowSd: number;
  readonly peakL: number;
}

export interface Fit {
  readonly backgroundNtu: number;
  readonly backgroundSd: number;
  /** The level to which the return settles: the background, and what of the echo has evened out. */
  readonly settledNtu: number;
  readonly settledSd: number;
  /** What stands over that level at the end of the stretch: own and echo together. */
  readonly excessNtu: number;
  readonly excessSd: number;
  /** The part of it that is this visit's own, washing out fast or slowly. */
  readonly ownNtu: number;
  /** Litres times NTU of it still to come. */
  readonly restNtuL: number;
  readonly washoutL: number;
  readonly echoShare: number;
  readonly echoShareSd: number;
  /** Root mean square of the residuals in units of their expected scatter. */
  readonly misfit: number;
  /** Log evidence of the stretch under this echo. */
  readonly evidence: number;
}

const bankRatios = [0.3, 0.45, 0.6, 0.72, 0.86, 1, 1.2, 1.45, 1.8, 2.3, 3, 4.2, 7, 14, 40];
const maxPoints = 60;
const points = {
  litres: new Float64Array(maxPoints + 1),
  ntu: new Float64Array(maxPoints + 1),
  weight: new Float64Array(maxPoints + 1),
  echo: new Float64Array(maxPoints + 1),
  /** Weight times echo, and times reading over the expected background: the same for every washout volume. */
  weightedEcho: new Float64Array(maxPoints + 1),
  weightedNtu: new Float64Array(maxPoints + 1),
  slow: new Float64Array(maxPoints + 1),
};
/** Order of the parts in the normal equations. */
const background = 0;
const washout = 1;
const echoed = 2;
const slow = 3;
const parts = new Parts();

/**
 * Fit the seconds `from..to` (indices of `series`, inclusive). `echo` holds K(v) in the same rings, and `evenEcho` is how
 * much of K has evened out. Null when there are too few readings to say anything.
 */
export function fitWashout(
  series: Series,
  echo: Float64Array,
  from: number,
  to: number,
  prior: FitPrior,
  evenEcho = 0,
): Fit | null {
  const n = gather(series, echo, from, to, (0.1 * Math.max(0.15, prior.echoShare) * prior.echoPeak) ** 2);
  if (n < 4) return null;
  let top = Number.NEGATIVE_INFINITY;
  let lo = Number.POSITIVE_INFINITY;
  for (let i = 0; i < n; i += 1) {
    const y = points.ntu[i] ?? 0;
    if (y > top) top = y;
    if (y < lo) lo = y;
  }
  const amplitudeSd = Math.max(20, 2 * (top - lo));
  const at: EchoLevel = { now: echo[series.at(to)] ?? 0, even: evenEcho };
  const sums = sumUp(n, prior);
  for (let i = 0; i < bankRatios.length; i += 1) solve(i, n, prior, amplitudeSd, at, sums);
  return mix(n);
}

function gather(series: Series, echo: Float64Array, from: number, to: number, echoVariance: number): number {
  const stride = Math.max(1, Math.ceil((to - from + 1) / maxPoints));
  let n = 0;
  for (let start = to; start >= from && n < maxPoints; start -= stride) {
    let w = 0;
    let v = 0;
    let y = 0;
    let k = 0;
    for (let i = Math.max(from, start - stride + 1); i <= start; i += 1) {
      const at = series.at(i);
      const value = series.ntu[at] ?? Number.NaN;
      if (Number.isNaN(value)) continue;
      const sd = series.sd[at] ?? 1;
      const weight = 1 / (sd * sd);
      w += weight;
      v += weight * (series.litres[at] ?? 0);
      y += weight * value;
      k += weight * (echo[at] ?? 0);
    }
    if (w === 0) continue;
    points.litres[n] = v / w;
    points.ntu[n] = y / w;
    points.echo[n] = k / w;
    // Seconds follow one another in their scatter (half the weight), and neighbouring ones share what the model does not know: no stretch counts for more than its scatter allows.
    points.weight[n] = (0.5 * w) / (1 + 0.5 * w * (modelVariance(y / w) + echoVariance));
    n += 1;
  }
  reverse(n);
  return n;
}

/** Variance that the model itself is wrong by, at a level: a tail is not quite an exponential. */
function modelVariance(ntu: number): number {
  const share = 0.01 * ntu;
  return 0.05 * 0.05 + share * share;
}

function reverse(n: number): void {
  points.litres.subarray(0, n).reverse();
  points.ntu.subarray(0, n).reverse();
  points.echo.subarray(0, n).reverse();
  points.weight.subarray(0, n).reverse();
}

/** K at the end of the stretch, and what of it has evened out. */
interface EchoLevel {
  readonly now: number;
  readonly even: number;
}

/** What each volume of the bank comes to, in lists that every fit fills anew. */
const solved = {
  evidence: new Float64Array(bankRatios.length),
  background: new Float64Array(bankRatios.length),
  backgroundVar: new Float64Array(bankRatios.length),
  settled: new Float64Array(bankRatios.length),
  settledVar: new Float64Array(bankRatios.length),
  own: new Float64Array(bankRatios.length),
  /** NTU litres of the own tails still to come. */
  rest: new Float64Array(bankRatios.length),
  excess: new Float64Array(bankRatios.length),
  excessVar: new Float64Array(bankRatios.length),
  share: new Float64Array(bankRatios.length),
  shareVar: new Float64Array(bankRatios.length),
  chi2: new Float64Array(bankRatios.length),
};

/** Entries of the normal equations in which the washout has no part: the same for the whole bank. */
interface Sums {
  readonly h11: number;
  readonly h13: number;
  readonly h14: number;
  readonly h33: number;
  readonly h34: number;
  readonly h44: number;
  readonly g1: number;
  readonly g3: number;
  readonly g4: number;
  readonly yy: number;
}

function sumUp(n: number, prior: FitPrior): Sums {
  const ip = 1 / (prior.echoShareSd * prior.echoShareSd);
  let h11 = 1 / (prior.backgroundSd * prior.backgroundSd);
  let h13 = 0;
  let h14 = 0;
  let h33 = ip;
  let h34 = 0;
  let h44 = 1 / (prior.slowSd * prior.slowSd);
  // Readings are taken relative to the expected background: it keeps the sums small.
  let g1 = 0;
  let g3 = ip * prior.echoShare;
  let g4 = 0;
  let yy = ip * prior.echoShare * prior.echoShare;
  for (let i = 0; i < n; i += 1) {
    const w = points.weight[i] ?? 0;
    const y = (points.ntu[i] ?? 0) - prior.backgroundNtu;
    const k = points.echo[i] ?? 0;
    const s = slowLeft(points.litres[i] ?? 0, prior);
    const wk = w * k;
    const wy = w * y;
    points.weightedEcho[i] = wk;
    points.weightedNtu[i] = wy;
    points.slow[i] = s;
    h11 += w;
    h13 += wk;
    h14 += w * s;
    h33 += wk * k;
    h34 += wk * s;
    h44 += w * s * s;
    g1 += wy;
    g3 += wy * k;
    g4 += wy * s;
    yy += wy * y;
  }
  return { h11, h13, h14, h33, h34, h44, g1, g3, g4, yy };
}

/** What is left of the slow tail at `litres`, as a share of what it was at the peak. */
function slowLeft(litres: number, prior: FitPrior): number {
  return decay(Math.max(0, litres - prior.peakL) / (slowRatio * prior.washoutL));
}

/** Penalised normal equations of one washout volume of the bank, into `solved`. */
function solve(
  of: number,
  n: number,
  prior: FitPrior,
  amplitudeSd: number,
  { now, even }: EchoLevel,
  sums: Sums,
): void {
  const ratio = bankRatios[of] ?? 1;
  const washoutL = ratio * prior.washoutL;
  // The amplitude is that at the beginning of the stretch, where nothing can overflow; what is left of it at the end is asked for.
  const v0 = points.litres[0] ?? 0;
  const vn = points.litres[n - 1] ?? 0;
  const left = decay((vn - v0) / washoutL);
  const ia = (left * left) / (amplitudeSd * amplitudeSd);
  let h22 = ia;
  let h12 = 0;
  let h23 = 0;
  let h24 = 0;
  let g2 = 0;
  for (let i = 0; i < n; i += 1) {
    const f = decay(((points.litres[i] ?? 0) - v0) / washoutL);
    const wf = (points.weight[i] ?? 0) * f;
    h12 += wf;
    h22 += wf * f;
    h23 += (points.weightedEcho[i] ?? 0) * f;
    h24 += wf * (points.slow[i] ?? 0);
    g2 += (points.weightedNtu[i] ?? 0) * f;
  }
  const { matrix, right, value } = parts;
  const { h11, h13, h14, h33, h34, h44, g1, g3, g4, yy } = sums;
  matrix[0] = h11;
  matrix[4] = h12;
  matrix[5] = h22;
  matrix[8] = h13;
  matrix[9] = h23;
  matrix[10] = h33;
  matrix[12] = h14;
  matrix[13] = h24;
  matrix[14] = h34;
  matrix[15] = h44;
  right[0] = g1;
  right[1] = g2;
  right[2] = g3;
  right[3] = g4;
  const logDet = parts.solve();
  const freeShareVar = parts.varianceOf(echoed);
  parts.holdNegative(washout);
  const b = value[background] ?? 0;
  const a = value[washout] ?? 0;
  const p = value[echoed] ?? 0;
  const s = value[slow] ?? 0;
  const chi2 = Math.max(0, yy - b * g1 - a * g2 - p * g3 - s * g4);
  const ib = 1 / (prior.backgroundSd * prior.backgroundSd);
  const ip = 1 / (prior.echoShareSd * prior.echoShareSd);
  const is = 1 / (prior.slowSd * prior.slowSd);
  const moving = now - even;
  const sLeft = slowLeft(vn, prior);
  // Volumes far from the surveyed one are less likely: spread a factor of 2.2 either way.
  const l = Math.log(ratio);
  solved.evidence[of] = -0.5 * (chi2 + logDet - Math.log(ib * ia * ip * is)) - (0.5 * l * l) / (0.8 * 0.8);
  solved.background[of] = prior.backgroundNtu + b;
  solved.backgroundVar[of] = parts.varianceOf(background);
  solved.settled[of] = prior.backgroundNtu + b + p * even;
  solved.settledVar[of] = parts.variance(1, 0, even, 0);
  solved.own[of] = a * left + s * sLeft;
  solved.rest[of] = Math.max(0, a) * left * washoutL + Math.max(0, s) * sLeft * slowRatio * prior.washoutL;
  solved.excess[of] = a * left + p * moving + s * sLeft;
  solved.excessVar[of] = parts.variance(0, left, moving, sLeft);
  solved.share[of] = p;
  // Held at nought it is not known to be nought: the free fit says how well it is known.
  solved.shareVar[of] = Math.max(parts.varianceOf(echoed), freeShareVar);
  solved.chi2[of] = chi2;
}

/** What is set free slowly washes out over so many washouts of the emitter. Chosen on simulated runs, no source. */
const slowRatio = 5;
/** However well a stretch is fitted, its scatter is not taken for less than this share of the expected variance.
 * Chosen on simulated runs, no source. */
const leastDoubt = 0.3;

function mix(n: number): Fit {
  let best = Number.NEGATIVE_INFINITY;
  for (const evidence of solved.evidence) if (evidence > best) best = evidence;
  let sum = 0;
  for (let i = 0; i < weights.length; i += 1) {
    const weight = Math.exp((solved.evidence[i] ?? Number.NEGATIVE_INFINITY) - best);
    weights[i] = weight;
    sum += weight;
  }
  const chi2 = meanOf(solved.chi2, sum) / n;
  // Where the model fits worse than the scatter allows it knows less than it says; where it fits better, more.
  const doubt = Math.max(leastDoubt, chi2);
  const backgroundNtu = meanOf(solved.background, sum);
  const settledNtu = meanOf(solved.settled, sum);
  const excessNtu = meanOf(solved.excess, sum);
  const echoShare = meanOf(solved.share, sum);
  const ownNtu = meanOf(solved.own, sum);
  const restNtuL = meanOf(solved.rest, sum);
  return {
    backgroundNtu,
    backgroundSd: Math.sqrt(varianceOf(solved.background, solved.backgroundVar, backgroundNtu, sum) * doubt),
    settledNtu,
    settledSd: Math.sqrt(varianceOf(solved.settled, solved.settledVar, settledNtu, sum) * doubt),
    excessNtu,
    excessSd: Math.sqrt(varianceOf(solved.excess, solved.excessVar, excessNtu, sum) * doubt),
    ownNtu,
    restNtuL,
    washoutL: ownNtu > 0 ? restNtuL / ownNtu : 0,
    echoShare,
    echoShareSd: Math.sqrt(varianceOf(solved.share, solved.shareVar, echoShare, sum) * doubt),
    misfit: Math.sqrt(chi2),
    evidence: best + Math.log(sum),
  };
}

/** How well each volume of the bank explains the stretch, against the best. */
const weights = new Float64Array(bankRatios.length);

function meanOf(values: Float64Array, sum: number): number {
  let total = 0;
  for (let i = 0; i < weights.length; i += 1) total += (weights[i] ?? 0) * (values[i] ?? 0);
  return total / sum;
}

/** Variance over the bank: within each volume, and between them. */
function varianceOf(values: Float64Array, variances: Float64Array, mean: number, sum: number): number {
  let total = 0;
  for (let i = 0; i < weights.length; i += 1) {
    const value = values[i] ?? 0;
    total += (weights[i] ?? 0) * (value * value + (variances[i] ?? 0));
  }
  return Math.max(0, total / sum - mean ** 2);
}
