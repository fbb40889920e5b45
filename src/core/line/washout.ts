import { decay } from '../quantity/decay.ts';
import type { Series } from '../signal/series.ts';

/**
 * What stands in the return line, split by a least-squares fit of the last stretch of readings:
 *
 *   y(v) = B + A exp(-(v - v0) / c) + p K(v) + noise
 *
 * in litres v: background B, the washout of what the last pass set free (an emitter empties like a stirred tank, or
 * a few: Levenspiel, Chemical Reaction Engineering, ch. 14), and the echo p K. B and p carry what is known from before
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
  /** The part of it that is this visit's own washout. */
  readonly ownNtu: number;
  /** Litres times NTU still to come of the own washout. */
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
};

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
  const results: Solved[] = [];
  for (const ratio of bankRatios) {
    const solved = solve(n, prior, ratio * prior.washoutL, amplitudeSd, at, sums);
    // Volumes far from the surveyed one are less likely: spread a factor of 2.2 either way.
    const l = Math.log(ratio);
    solved.evidence -= (0.5 * l * l) / (0.8 * 0.8);
    results.push(solved);
  }
  return mix(results, n);
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

interface Solved {
  evidence: number;
  washoutL: number;
  background: number;
  backgroundVar: number;
  settled: number;
  settledVar: number;
  own: number;
  excess: number;
  excessVar: number;
  share: number;
  shareVar: number;
  chi2: number;
}

/** Entries of the normal equations in which the washout has no part: the same for the whole bank. */
interface Sums {
  readonly h11: number;
  readonly h13: number;
  readonly h33: number;
  readonly g1: number;
  readonly g3: number;
  readonly yy: number;
}

function sumUp(n: number, prior: FitPrior): Sums {
  const ip = 1 / (prior.echoShareSd * prior.echoShareSd);
  let h11 = 1 / (prior.backgroundSd * prior.backgroundSd);
  let h13 = 0;
  let h33 = ip;
  // Readings are taken relative to the expected background: it keeps the sums small.
  let g1 = 0;
  let g3 = ip * prior.echoShare;
  let yy = ip * prior.echoShare * prior.echoShare;
  for (let i = 0; i < n; i += 1) {
    const w = points.weight[i] ?? 0;
    const y = (points.ntu[i] ?? 0) - prior.backgroundNtu;
    const k = points.echo[i] ?? 0;
    const wk = w * k;
    const wy = w * y;
    points.weightedEcho[i] = wk;
    points.weightedNtu[i] = wy;
    h11 += w;
    h13 += wk;
    h33 += wk * k;
    g1 += wy;
    g3 += wy * k;
    yy += wy * y;
  }
  return { h11, h13, h33, g1, g3, yy };
}

/** Penalised normal equations of one washout volume, solved in closed form (3 x 3, symmetric). */
function solve(
  n: number,
  prior: FitPrior,
  washoutL: number,
  amplitudeSd: number,
  { now, even }: EchoLevel,
  { h11, h13, h33: h33Free, g1, g3, yy }: Sums,
): Solved {
  const ib = 1 / (prior.backgroundSd * prior.backgroundSd);
  const ip = 1 / (prior.echoShareSd * prior.echoShareSd);
  // The amplitude is that at the beginning of the stretch, where nothing can overflow; what is left of it at the end is asked for.
  const v0 = points.litres[0] ?? 0;
  const left = decay(((points.litres[n - 1] ?? 0) - v0) / washoutL);
  const ia = (left * left) / (amplitudeSd * amplitudeSd);
  let h22 = ia;
  let h33 = h33Free;
  let h12 = 0;
  let h23 = 0;
  let g2 = 0;
  for (let i = 0; i < n; i += 1) {
    const f = decay(((points.litres[i] ?? 0) - v0) / washoutL);
    const wf = (points.weight[i] ?? 0) * f;
    h12 += wf;
    h22 += wf * f;
    h23 += (points.weightedEcho[i] ?? 0) * f;
    g2 += (points.weightedNtu[i] ?? 0) * f;
  }
  const det3 = h11 * (h22 * h33 - h23 * h23) - h12 * (h12 * h33 - h13 * h23) + h13 * (h12 * h23 - h13 * h22);
  // Parts that cannot be negative are held at nought where the free fit would have them so, the worse offender first.
  let a = (g1 * (h13 * h23 - h12 * h33) + g2 * (h11 * h33 - h13 * h13) + g3 * (h12 * h13 - h11 * h23)) / det3;
  let p = (g1 * (h12 * h23 - h13 * h22) + g2 * (h12 * h13 - h11 * h23) + g3 * (h11 * h22 - h12 * h12)) / det3;
  let c11 = 0;
  let c12 = 0;
  let c13 = 0;
  let c22 = 0;
  let c23 = 0;
  let c33 = 0;
  let det = 1;
  let b = 0;
  const freeShareVar = (h11 * h22 - h12 * h12) / det3;
  if (p < 0) h33 += held;
  if (a < 0) h22 += held;
  // One part held at nought can make the other negative that was not so before.
  for (let round = 0; ; round += 1) {
    c11 = h22 * h33 - h23 * h23;
    c12 = h13 * h23 - h12 * h33;
    c13 = h12 * h23 - h13 * h22;
    c22 = h11 * h33 - h13 * h13;
    c23 = h12 * h13 - h11 * h23;
    c33 = h11 * h22 - h12 * h12;
    det = h11 * c11 + h12 * c12 + h13 * c13;
    b = (c11 * g1 + c12 * g2 + c13 * g3) / det;
    a = (c12 * g1 + c22 * g2 + c23 * g3) / det;
    p = (c13 * g1 + c23 * g2 + c33 * g3) / det;
    if (round > 0) break;
    const isHeldA = h22 >= held;
    const isHeldP = h33 >= held;
    if (p < 0 && !isHeldP) h33 += held;
    else if (a < 0 && !isHeldA) h22 += held;
    else break;
  }
  const chi2 = Math.max(0, yy - b * g1 - a * g2 - p * g3);
  const moving = now - even;
  const evidence = -0.5 * (chi2 + Math.log(Math.abs(det3)) - Math.log(ib * ia * ip));
  return {
    evidence,
    washoutL,
    background: prior.backgroundNtu + b,
    backgroundVar: c11 / det,
    settled: prior.backgroundNtu + b + p * even,
    settledVar: Math.max(0, (c11 + 2 * even * c13 + even * even * c33) / det),
    own: a * left,
    excess: a * left + p * moving,
    excessVar: Math.max(0, (left * left * c22 + 2 * left * moving * c23 + moving * moving * c33) / det),
    share: p,
    // Held at nought it is not known to be nought: the free fit says how well it is known.
    shareVar: Math.max(c33 / det, freeShareVar),
    chi2,
  };
}

/** However well a stretch is fitted, its scatter is not taken for less than this share of the expected variance.
 * Chosen on simulated runs, no source. */
const leastDoubt = 0.3;
/** Weight that holds a part at nought. */
const held = 1e12;

function mix(results: readonly Solved[], n: number): Fit {
  let best = Number.NEGATIVE_INFINITY;
  for (const r of results) if (r.evidence > best) best = r.evidence;
  let sum = 0;
  let b = 0;
  let bb = 0;
  let s = 0;
  let ss = 0;
  let own = 0;
  let e = 0;
  let ee = 0;
  let p = 0;
  let pp = 0;
  let rest = 0;
  let chi2 = 0;
  for (const r of results) {
    const w = Math.exp(r.evidence - best);
    sum += w;
    b += w * r.background;
    bb += w * (r.background * r.background + r.backgroundVar);
    s += w * r.settled;
    ss += w * (r.settled * r.settled + r.settledVar);
    own += w * r.own;
    e += w * r.excess;
    ee += w * (r.excess * r.excess + r.excessVar);
    p += w * r.share;
    pp += w * (r.share * r.share + r.shareVar);
    rest += w * Math.max(0, r.own) * r.washoutL;
    chi2 += w * r.chi2;
  }
  // Where the model fits worse than the scatter allows it knows less than it says; where it fits better, more.
  const doubt = Math.max(leastDoubt, chi2 / sum / n);
  const ownMean = own / sum;
  const restMean = rest / sum;
  return {
    backgroundNtu: b / sum,
    backgroundSd: Math.sqrt(Math.max(0, bb / sum - (b / sum) ** 2) * doubt),
    settledNtu: s / sum,
    settledSd: Math.sqrt(Math.max(0, ss / sum - (s / sum) ** 2) * doubt),
    excessNtu: e / sum,
    excessSd: Math.sqrt(Math.max(0, ee / sum - (e / sum) ** 2) * doubt),
    ownNtu: ownMean,
    restNtuL: restMean,
    washoutL: ownMean > 0 ? restMean / ownMean : 0,
    echoShare: p / sum,
    echoShareSd: Math.sqrt(Math.max(0, pp / sum - (p / sum) ** 2) * doubt),
    misfit: Math.sqrt(chi2 / sum / n),
    evidence: best + Math.log(sum),
  };
}
