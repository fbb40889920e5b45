/**
 * When will the water that comes be at mains level? What is over the mains' falls as y(v) = y0 exp(-v / c), the washout of a
 * stirred volume (Levenspiel, Chemical Reaction Engineering, ch. 14), with c taken from the last litres; slower towards the
 * end, since corners give their water late. Before it falls, so many changes of the way's water as a rinse usually takes.
 * All counts in litres: a stopped pump stops the forecast.
 */
export interface RinsePoint {
  /** Litres of the rinse. */
  readonly litres: number;
  /** What stands over the mains', in units of what is allowed: 1 is at mains level. */
  readonly over: number;
}

export interface RinseForecastInput {
  /** Since the emitter was opened that the water comes through, in rising litres; one list for each channel that is read. */
  readonly channels: readonly (readonly RinsePoint[])[];
  /** Litres since then, and litres of the way: pipes and that emitter. */
  readonly flowedL: number;
  readonly wayL: number;
  /** The first one opened brings the water of the whole loop. */
  readonly isFirst: boolean;
  readonly flowLpm: number;
}

export interface RinseForecast {
  /** Litres and seconds still to go: likely, and the span that holds about eight in ten. */
  readonly litres: number;
  readonly fromL: number;
  readonly toL: number;
  readonly seconds: number;
  readonly fromS: number;
  readonly toS: number;
}

/**
 * Changes of the way's water until mains level is told: a tenth take less than the first, half less than the second, a tenth
 * more than the third. These and the spreads below are from simulated rinses (`npx tsx bench/rinse-forecast.ts`).
 */
const changes = { first: [1.2, 1.6, 2.8], later: [0.6, 0.95, 1.7] } as const;
/** Times the litres that the last ones promise, and litres beside: soonest, likely, latest. */
const promised = { soon: [0.8, 0], likely: [1.2, 1], late: [2.5, 12] } as const;
/** The same where it has just begun to fall. */
const early = { soon: 0.4, likely: 0.6, late: 1.7 } as const;
/** So many times what is allowed is still far: the fall has just begun. */
const farOver = 8;
/** Litres whose fall is looked at, readings that it takes at least, and readings whose mean is what stands now. */
const lookL = 8;
const leastPoints = 10;
const nowPoints = 8;
/** Under this the halves do not differ. */
const leastFall = 1.03;

/** Null when the water stands or nothing was read. */
export function rinseForecast(input: RinseForecastInput): RinseForecast | null {
  const { flowedL, wayL, flowLpm } = input;
  if (!(flowLpm > 0) || !(wayL > 0)) return null;
  const looks = input.channels.map(lookAt).filter((l) => l !== null);
  if (looks.length === 0) return null;
  const over = Math.max(...looks.map((l) => l.over));
  const needs = looks.map((l) => l.needL);
  const needL = needs.includes(null) ? null : Math.max(...needs.map(Number));
  if (needL !== null && over <= farOver) {
    const of = ([times, beside]: readonly [number, number]): number => times * needL + beside;
    return span(of(promised.soon), of(promised.likely), of(promised.late), flowLpm);
  }
  const [least, usual, most] = changes[input.isFirst ? 'first' : 'later'].map((n) => Math.max(0, n * wayL - flowedL));
  // Where it does not fall yet though it should have: a third of the way more.
  const fall = needL ?? wayL / 3;
  return span(
    needL === null ? (least ?? 0) : Math.min(least ?? 0, early.soon * fall),
    Math.max(usual ?? 0, early.likely * fall),
    Math.max(most ?? 0, early.late * fall),
    flowLpm,
  );
}

/** What stands now, and the litres until it is allowed by the fall of the last ones; null litres: it does not fall. */
function lookAt(points: readonly RinsePoint[]): { readonly over: number; readonly needL: number | null } | null {
  const lastL = points.at(-1)?.litres ?? 0;
  let from = points.length;
  while (from > 0 && (lastL - (points[from - 1]?.litres ?? 0) <= lookL || points.length - from < leastPoints))
    from -= 1;
  const seen = points.slice(from);
  if (seen.length < leastPoints) return null;
  const now = seen.slice(-nowPoints);
  const over = meanOf(now, (p) => p.over);
  if (over <= 1) return { over, needL: 0 };
  const half = Math.floor(seen.length / 2);
  const [before, after] = [seen.slice(0, half), seen.slice(half)];
  const fall = meanOf(before, (p) => p.over) / meanOf(after, (p) => p.over);
  if (!(fall > leastFall)) return { over, needL: null };
  const volumeL = (meanOf(after, (p) => p.litres) - meanOf(before, (p) => p.litres)) / Math.log(fall);
  const sinceL = lastL - meanOf(now, (p) => p.litres);
  return { over, needL: Math.max(0, volumeL * Math.log(over) - sinceL) };
}

function meanOf<T>(all: readonly T[], of: (one: T) => number): number {
  return all.reduce((sum, one) => sum + of(one), 0) / Math.max(1, all.length);
}

function span(fromL: number, litres: number, toL: number, flowLpm: number): RinseForecast {
  const seconds = (l: number): number => (60 * l) / flowLpm;
  return { litres, fromL, toL, seconds: seconds(litres), fromS: seconds(fromL), toS: seconds(toL) };
}
