import { centred, type Partition, requireFinite, requirePenalty } from './cost.ts';
import { Pieces } from './pieces.ts';

export interface FpopSettings {
  readonly penalty: number;
  /** Noise variance; squares are counted in it. Default 1. */
  readonly variance?: number;
  /** Biweight cap in the unit of the values: a value further from the mean than this counts as this far. Default none. */
  readonly cap?: number;
  /** Shortest segment. Default 1. */
  readonly least?: number;
}

/**
 * Best segmentation for a change of mean by functional pruning (FPOP, Maidstone et al. 2017), with a cap the robust
 * form (Fearnhead and Rigaill 2019). The same answer as `optimal` with `MeanCost` or `RobustCost`, and near-linear
 * whether changes are many or few: a start is kept only while some mean makes it best.
 *
 * A least length is kept by letting a start enter when its segment has that many values: adding the same later losses
 * to two functions never changes which is lower.
 */
export function fpop(series: ArrayLike<number>, settings: FpopSettings): Partition {
  requireFinite(series);
  const variance = settings.variance ?? 1;
  const cap = settings.cap ?? Infinity;
  const length = settings.least ?? 1;
  if (!(variance > 0) || !(cap > 0))
    throw new RangeError(`Cap and variance must be over 0; got ${cap} and ${variance}.`);
  if (!Number.isInteger(length) || length < 1)
    throw new RangeError(`The minimum length is a whole number from 1; got ${length}.`);
  requirePenalty(settings.penalty);
  const x = centred(series).values;
  const penalty = settings.penalty * variance;
  // A series shorter than the least length is one segment.
  const { back, best } = run(x, penalty, cap, Math.max(1, Math.min(length, x.length)));
  const changepoints: number[] = [];
  for (let t = back[x.length] ?? 0; t > 0; t = back[t] ?? 0) changepoints.push(t);
  changepoints.reverse();
  const whole = x.length > 0 ? (best[x.length] ?? 0) : 0;
  const total = whole / variance;
  return { changepoints, total, cost: total - settings.penalty * changepoints.length };
}

function run(x: Float64Array, penalty: number, cap: number, length: number): { back: Int32Array; best: Float64Array } {
  const n = x.length;
  let low = Infinity;
  let high = -Infinity;
  for (const v of x) {
    if (v < low) low = v;
    if (v > high) high = v;
  }
  // A flat series still needs an interval to live on.
  if (!(high > low)) high = low + Math.max(1e-300, Math.abs(low) * 1e-12);
  const best = new Float64Array(n + 1).fill(Infinity);
  const back = new Int32Array(n + 1).fill(-1);
  best[0] = -penalty;
  let f = new Pieces(high);
  let spare = new Pieces(high);
  let born = new Pieces(high);
  let scratch = new Pieces(high);
  for (let t = length; t <= n; t++) {
    const last = x[t - 1] as number;
    if (f.count > 0) {
      if (cap === Infinity) f.addSquare(last);
      else {
        f.plusCapped(last, cap, spare);
        [f, spare] = [spare, f];
      }
    }
    const start = t - length;
    const base = (best[start] as number) + penalty;
    if (base !== Infinity) {
      born.count = 0;
      born.push(low, 0, 0, base, start);
      for (let i = start; i < t; i++) {
        if (cap === Infinity) born.addSquare(x[i] as number);
        else {
          born.plusCapped(x[i] as number, cap, scratch);
          [born, scratch] = [scratch, born];
        }
      }
      if (f.count === 0) [f, born] = [born, f];
      else {
        f.lower(born, spare);
        [f, spare] = [spare, f];
      }
    }
    const least = f.least();
    best[t] = least.value;
    back[t] = least.from;
  }
  return { back, best };
}
