interface Points {
  readonly t: readonly number[];
  readonly y: readonly number[];
  /** What else may move y, each part in its own way; null: nothing is known of it. */
  readonly x?: readonly number[] | null;
}

/** Sums of squares and products about the means of one part. */
interface Sums {
  readonly tt: number;
  readonly ty: number;
  readonly xx: number;
  readonly xy: number;
  readonly tx: number;
  readonly means: { readonly t: number; readonly y: number; readonly x: number };
}

/** Least-squares line with the slope and its widened standard uncertainty. */
export function fit(t: readonly number[], y: readonly number[]): { slope: number; u: number } {
  return commonSlope([{ t, y }]);
}

/**
 * One slope for all parts, and a level for each (analysis of covariance), with its standard uncertainty, widened for residuals that
 * remember (Bartlett 1946). Where a part has an x, y may go with it by a factor of that part's own, of which nothing is known but
 * that it is 0 give or take `priorSd`: what x explains as well as time is left uncertain. In plain loops: it is asked for every
 * few seconds over thousands of points.
 */
export function commonSlope(parts: readonly Points[], priorSd = 0): { slope: number; u: number } {
  const sums = parts.map(sumsOf);
  const free = leastSquares(parts, sums, 0);
  if (priorSd === 0 || !sums.some(({ xx }) => xx > 0))
    return { slope: free.slope, u: Math.sqrt(free.variance / free.tt) };
  // A prior weighs as much as the readings that would tell as much.
  const { slope, variance, tt } = leastSquares(parts, sums, free.variance / priorSd ** 2);
  const u = Math.sqrt(variance / tt);
  // x scatters, too: it may explain a slope, and makes none.
  const plain = ratioOf(sums);
  return { slope: plain * slope > 0 ? Math.sign(slope) * Math.min(Math.abs(slope), Math.abs(plain)) : 0, u };
}

/** The slope where nothing is known of x. */
function ratioOf(sums: readonly Sums[]): number {
  return sums.reduce((sum, s) => sum + s.ty, 0) / sums.reduce((sum, s) => sum + s.tt, 0);
}

/** The slope, what is left of the squares of time beside x, and the widened variance of a residual. */
function leastSquares(
  parts: readonly Points[],
  sums: readonly Sums[],
  priorWeight: number,
): { slope: number; tt: number; variance: number } {
  let tt = 0;
  let ty = 0;
  for (const s of sums) {
    const byX = s.xx > 0 ? s.tx / (s.xx + priorWeight) : 0;
    tt += s.tt - byX * s.tx;
    ty += s.ty - byX * s.xy;
  }
  const slope = ty / tt;
  let n = 0;
  let squares = 0;
  let lagged = 0;
  for (const [p, { t, y, x }] of parts.entries()) {
    const s = sums[p] ?? none;
    const factor = s.xx > 0 ? (s.xy - slope * s.tx) / (s.xx + priorWeight) : 0;
    n += t.length;
    let before = 0;
    for (let i = 0; i < t.length; i++) {
      const byX = x ? factor * ((x[i] ?? 0) - s.means.x) : 0;
      const e = (y[i] ?? 0) - s.means.y - slope * ((t[i] ?? 0) - s.means.t) - byX;
      squares += e * e;
      lagged += e * before;
      before = e;
    }
  }
  const r = squares > 0 ? Math.max(0, Math.min(0.98, lagged / squares)) : 0;
  return { slope, tt, variance: (squares / (n - 1 - parts.length)) * ((1 + r) / (1 - r)) };
}

const none: Sums = { tt: 0, ty: 0, xx: 0, xy: 0, tx: 0, means: { t: 0, y: 0, x: 0 } };

function sumsOf({ t, y, x }: Points): Sums {
  const means = { t: meanOf(t), y: meanOf(y), x: x ? meanOf(x) : 0 };
  const out = { tt: 0, ty: 0, xx: 0, xy: 0, tx: 0, means };
  for (let i = 0; i < t.length; i++) {
    const dt = (t[i] ?? 0) - means.t;
    const dy = (y[i] ?? 0) - means.y;
    out.tt += dt * dt;
    out.ty += dt * dy;
    if (!x) continue;
    const dx = (x[i] ?? 0) - means.x;
    out.xx += dx * dx;
    out.xy += dx * dy;
    out.tx += dt * dx;
  }
  return out;
}

function meanOf(values: readonly number[]): number {
  let sum = 0;
  for (const v of values) sum += v;
  return sum / values.length;
}
