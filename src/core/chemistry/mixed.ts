import { coverage, minus, type Uncertain } from '../quantity/interval.ts';

/** A reading after the dose: litres that had gone round since, and conductivity at 25 degrees, uS/cm. */
export interface MixPoint {
  readonly litres: number;
  readonly usCm25: number;
}

export interface MixSettings {
  /** A step under this many of its standard uncertainties says nothing. */
  readonly leastSteps: number;
  /** Plateau: the quarters of one way round differ by less than this share of the step. Our choice, no source. */
  readonly flatShare: number;
  /** Standard uncertainty of one reading against another of the same probe, uS/cm: our choice, no source. */
  readonly uReadingUsCm: number;
}

export const mixSettings: MixSettings = { leastSteps: 3, flatShare: 0.03, uReadingUsCm: 5 };

export interface Mixing {
  /** `undecided`: the cleaner hardly conducts; contact time has to serve. */
  readonly state: 'waiting' | 'undecided' | 'mixing' | 'mixed';
  /** Rise over the level before the dose, uS/cm; null before two ways round. */
  readonly step: Uncertain | null;
}

/**
 * Has the dose spread? Over the last way round the loop, and after at least two, the conductivity stands: the means of
 * the four quarters of that way differ by less than a share of the step, or than the readings' noise explains. A dose
 * that is not spread comes round as a wave of one loop, which moves them.
 */
export function mixingOf(
  before: Uncertain,
  points: readonly MixPoint[],
  loopL: number,
  settings: MixSettings = mixSettings,
): Mixing {
  const last = points.at(-1);
  if (!last || !(last.litres >= 2 * loopL)) return { state: 'waiting', step: null };
  const fromL = last.litres - loopL;
  const round = points.filter((p) => p.litres > fromL && Number.isFinite(p.usCm25));
  const quarters = [0, 1, 2, 3].map((i) =>
    round.filter((p) => Math.min(3, Math.floor((4 * (p.litres - fromL)) / loopL)) === i),
  );
  if (quarters.some((q) => q.length < 2)) return { state: 'waiting', step: null };
  const means = quarters.map(mean);
  const step = minus({ value: mean(round), u: settings.uReadingUsCm }, before);
  const spread = Math.max(...means) - Math.min(...means);
  const byNoise = 2 * coverage * noiseOfQuarter(round);
  if (Math.abs(step.value) < settings.leastSteps * step.u) {
    // A wave that stands out of the noise is a dose on its way, however small its mean.
    const isWave = spread > Math.max(byNoise, settings.leastSteps * settings.uReadingUsCm);
    return { state: isWave ? 'mixing' : 'undecided', step };
  }
  return { state: spread <= Math.max(settings.flatShare * Math.abs(step.value), byNoise) ? 'mixed' : 'mixing', step };
}

function mean(points: readonly MixPoint[]): number {
  return points.reduce((a, p) => a + p.usCm25, 0) / points.length;
}

/** Standard deviation of a quarter's mean, from the differences of neighbours, which a slow wave hardly touches. */
function noiseOfQuarter(points: readonly MixPoint[]): number {
  let squares = 0;
  for (let i = 1; i < points.length; i++) squares += ((points[i]?.usCm25 ?? 0) - (points[i - 1]?.usCm25 ?? 0)) ** 2;
  const one = Math.sqrt(squares / 2 / Math.max(1, points.length - 1));
  return one / Math.sqrt(points.length / 4);
}
