interface Points {
  readonly t: readonly number[];
  readonly y: readonly number[];
}

/** Least-squares line with the slope and its widened standard uncertainty. */
export function fit(t: readonly number[], y: readonly number[]): { slope: number; u: number } {
  return commonSlope([{ t, y }]);
}

/**
 * One slope for all parts, and a level for each (analysis of covariance), with its standard uncertainty, widened for residuals that
 * remember (Bartlett 1946). In plain loops: it is asked for every few seconds over thousands of points.
 */
export function commonSlope(parts: readonly Points[]): { slope: number; u: number } {
  const means = parts.map(({ t, y }) => ({ t: meanOf(t), y: meanOf(y) }));
  let n = 0;
  let stt = 0;
  let sty = 0;
  parts.forEach(({ t, y }, p) => {
    const mean = means[p] ?? { t: 0, y: 0 };
    n += t.length;
    for (let i = 0; i < t.length; i++) {
      const dt = (t[i] ?? 0) - mean.t;
      stt += dt * dt;
      sty += dt * ((y[i] ?? 0) - mean.y);
    }
  });
  const slope = sty / stt;
  let squares = 0;
  let lagged = 0;
  parts.forEach(({ t, y }, p) => {
    const mean = means[p] ?? { t: 0, y: 0 };
    let before = 0;
    for (let i = 0; i < t.length; i++) {
      const e = (y[i] ?? 0) - mean.y - slope * ((t[i] ?? 0) - mean.t);
      squares += e * e;
      lagged += e * before;
      before = e;
    }
  });
  const r = squares > 0 ? Math.max(0, Math.min(0.98, lagged / squares)) : 0;
  return { slope, u: Math.sqrt((squares / (n - 1 - parts.length) / stt) * ((1 + r) / (1 - r))) };
}

function meanOf(values: readonly number[]): number {
  let sum = 0;
  for (const v of values) sum += v;
  return sum / values.length;
}
