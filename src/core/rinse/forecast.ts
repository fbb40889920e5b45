/**
 * When will the rinse be done? The system is taken as N equal stirred tanks in a row with a volume between them, the
 * textbook picture between one mixed tank (N = 1) and plug flow. Its washout is
 * 1 - F = e^(-x) sum_{k<N} x^k / k!, x = N L / V, after L litres (Levenspiel, Chemical Reaction Engineering, ch. 14).
 * All counts in litres: a stopped pump stops the forecast.
 */
export function tanksInSeries(tanks: number, changes: number): number {
  const x = tanks * changes;
  if (x <= 0) return 1;
  let term = 1;
  let sum = 1;
  for (let k = 1; k < tanks; k++) {
    term *= x / k;
    sum += term;
  }
  // Rounding alone must not make more of it than there was.
  return Math.min(1, Math.exp(-x) * sum);
}

/** Changes of water until so much is left, 0 < left < 1; bisection, for washout falls all the way. */
export function changesTo(tanks: number, left: number): number {
  let low = 0;
  let high = 1;
  while (tanksInSeries(tanks, high) > left && high < 1e4) high *= 2;
  for (let i = 0; i < 60; i++) {
    const mid = (low + high) / 2;
    if (tanksInSeries(tanks, mid) > left) low = mid;
    else high = mid;
  }
  return (low + high) / 2;
}

/** A reading of the rinse: litres since its beginning, and the excess over mains. */
export interface RinsePoint {
  readonly litres: number;
  readonly excess: number;
}

export interface RinseForecastInput {
  /** In rising litres. */
  readonly points: readonly RinsePoint[];
  /** Excess at the beginning and the one to reach, same unit (NTU or uS/cm at 25 degrees). */
  readonly startExcess: number;
  readonly targetExcess: number;
  /** Standard uncertainty of a reading, same unit. */
  readonly uReading: number;
  /** Surveyed or measured litres that are rinsed, and the flow now. */
  readonly volumeL: number;
  readonly volumeShare: number;
  readonly flowLpm: number;
}

export interface RinseForecast {
  /** Litres and seconds still to go: middle, and the span that holds 90 % of what the model allows. */
  readonly litres: number;
  readonly fromL: number;
  readonly toL: number;
  readonly seconds: number;
  readonly fromS: number;
  readonly toS: number;
}

const tankCounts = [1, 2, 3, 4, 5, 6, 7, 8, 10, 12, 15, 20];
/** Steps of the volume, in standard deviations of its logarithm. */
const volumeSteps = 61;
const reachSds = 3;
/** The picture is not the house: each reading may stray by this share of itself. Our choice, no source. */
const modelShare = 0.05;
const mostPoints = 24;

/**
 * Forecast by weighing every pair of tank count and volume by how well it tells the readings so far (Gaussian errors,
 * the volume's survey as prior); no randomness. Null when the water stands, when there is nothing to rinse out, or
 * when the target is no target.
 */
export function rinseForecast(input: RinseForecastInput): RinseForecast | null {
  const { startExcess, targetExcess, flowLpm } = input;
  if (!(flowLpm > 0) || !(startExcess > 0) || !(targetExcess > 0)) return null;
  const soFar = input.points.at(-1)?.litres ?? 0;
  if (targetExcess >= startExcess) return spanOf([{ litres: 0, weight: 1 }], flowLpm, 0);
  const points = thinned(input.points);
  const ends: { litres: number; logWeight: number }[] = [];
  for (const tanks of tankCounts) {
    const changes = changesTo(tanks, targetExcess / startExcess);
    for (let i = 0; i < volumeSteps; i++) {
      const z = reachSds * ((2 * i) / (volumeSteps - 1) - 1);
      const volume = input.volumeL * Math.exp(z * input.volumeShare);
      const misfit = misfitOf(points, tanks, volume, input);
      ends.push({ litres: Math.max(0, changes * volume - soFar), logWeight: -0.5 * (z * z + misfit) });
    }
  }
  const best = Math.max(...ends.map((e) => e.logWeight));
  const weighed = ends.map((e) => ({ litres: e.litres, weight: Math.exp(e.logWeight - best) }));
  // Late in a rinse one cell of the grid may hold all the weight: the answer is no finer than the cell.
  const cell = ((2 * reachSds) / (volumeSteps - 1)) * input.volumeShare;
  return spanOf(weighed, flowLpm, cell * soFar);
}

function misfitOf(points: readonly RinsePoint[], tanks: number, volume: number, input: RinseForecastInput): number {
  let sum = 0;
  for (const p of points) {
    const told = input.startExcess * tanksInSeries(tanks, p.litres / volume);
    const s2 = input.uReading ** 2 + (modelShare * Math.max(told, p.excess, 0)) ** 2;
    sum += (p.excess - told) ** 2 / s2;
  }
  return sum;
}

/** Neighbouring readings share their errors, so a few spread over the rinse count, not thousands. */
function thinned(points: readonly RinsePoint[]): readonly RinsePoint[] {
  const usable = points.filter((p) => Number.isFinite(p.excess) && p.litres > 0);
  if (usable.length <= mostPoints) return usable;
  const step = (usable.length - 1) / (mostPoints - 1);
  return Array.from({ length: mostPoints }, (_, i) => usable[Math.round(i * step)]).filter((p) => p !== undefined);
}

function spanOf(ends: readonly { litres: number; weight: number }[], flowLpm: number, cellL: number): RinseForecast {
  const sorted = [...ends].sort((a, b) => a.litres - b.litres);
  const total = sorted.reduce((a, e) => a + e.weight, 0);
  const at = (share: number): number => {
    let gone = 0;
    for (const e of sorted) {
      gone += e.weight;
      if (gone >= share * total) return e.litres;
    }
    return sorted.at(-1)?.litres ?? 0;
  };
  const [fromL, litres, toL] = [Math.max(0, at(0.05) - cellL), at(0.5), at(0.95) + cellL];
  const seconds = (l: number): number => (60 * l) / flowLpm;
  return { litres, fromL, toL, seconds: seconds(litres), fromS: seconds(fromL), toS: seconds(toL) };
}
