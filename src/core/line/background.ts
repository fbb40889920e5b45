/** What was last learned of the level, and when. */
interface Anchor {
  readonly atS: number;
  readonly ntu: number;
  readonly variance: number;
  /** Slope there, NTU/s. */
  readonly slope: number;
}

/**
 * The level to which the return settles, carried from stretch to stretch with its uncertainty. It moves when a stretch of
 * readings has taught it something: never while a release is under way, so a tail cannot lift it. Between lessons it goes
 * on falling as it was seen to fall before the first visit: the chambers clean the water that goes round, fast at first
 * and slower later, so the slope dies away with time (damped trend: Gardner and McKenzie, Management Science 31, 1985; from memory).
 * Without it the background would be taken for higher than it is, and an echo for part of it.
 */
export class Background {
  ntu = 0;
  known = false;
  private variance = 1e4;
  private anchor: Anchor = { atS: 0, ntu: 0, variance: 1e4, slope: 0 };
  private atS = 0;
  private readonly recent: { readonly timeS: number; readonly ntu: number }[] = [];
  private isIdle = true;
  private readonly driftNtu: number;

  constructor(driftNtu: number) {
    this.driftNtu = driftNtu;
  }

  /** Standard deviation of the level, NTU, at the time it was last carried on to. */
  get sd(): number {
    return Math.sqrt(this.variance);
  }

  /** Carry the level on to a time. */
  to(timeS: number): void {
    this.atS = timeS;
    if (!this.known) return;
    const { atS, ntu, variance, slope } = this.anchor;
    const dt = Math.max(0, timeS - atS);
    const fall = slope * trendS * (1 - Math.exp(-dt / trendS));
    this.ntu = Math.max(0, ntu + fall);
    const drift = Math.hypot(this.driftNtu, driftShare * this.ntu);
    this.variance = variance + drift * drift * dt + (trendDoubt * fall) ** 2;
  }

  /** A reading before the first visit: the whole system goes round, nothing is being set free. */
  idle(timeS: number, ntu: number): void {
    if (!this.isIdle) return;
    this.recent.push({ timeS, ntu });
    if (this.recent.length > idleReadings) this.recent.shift();
    if (this.recent.length < 10) return;
    const line = medianLine(this.recent);
    // A line through so few seconds tells little of the slope: it is shrunk towards none, and a rise is not carried on.
    const doubt = (slopeScatter * line.spread) / line.spanS / Math.sqrt(this.recent.length);
    const usual = usualFall * Math.max(1, line.at);
    const gain = line.slope < 0 ? (usual * usual) / (usual * usual + doubt * doubt) : 0;
    const level = Math.max(0, line.at - 0.5 * (1 - gain) * line.slope * line.spanS);
    const sd = Math.max(0.4, 0.015 * level, 0.3 * line.spread);
    this.set(timeS, level, sd * sd, Math.max(-mostFall * level, gain * line.slope));
  }

  /** The first visit begins: what stands from now on may be dirt that was set free. */
  visited(): void {
    this.isIdle = false;
  }

  /** Nothing known before the first visit: the first reading, with little trust. */
  guess(timeS: number, ntu: number): void {
    this.set(timeS, ntu, (5 + 0.5 * ntu) ** 2, 0);
  }

  /** What a stretch of readings taught. */
  learn(timeS: number, ntu: number, sd: number): void {
    const { atS, slope } = this.anchor;
    const left = slope * Math.exp(-Math.max(0, timeS - atS) / trendS);
    this.set(timeS, ntu, Math.max(0.3 * 0.3, (0.01 * ntu) ** 2, sd * sd), left);
  }

  private set(timeS: number, ntu: number, variance: number, slope: number): void {
    this.anchor = { atS: timeS, ntu, variance, slope };
    this.known = true;
    this.to(Math.max(this.atS, timeS));
  }
}

/** Line through readings by medians (Theil 1950, Sen 1968; from memory): slope of blocks of ten, level at the last reading. */
function medianLine(readings: readonly { readonly timeS: number; readonly ntu: number }[]): {
  readonly at: number;
  readonly slope: number;
  readonly spread: number;
  readonly spanS: number;
} {
  const blocks: { timeS: number; ntu: number }[] = [];
  for (let end = readings.length; end >= 5; end -= 10) {
    const part = readings.slice(Math.max(0, end - 10), end);
    blocks.push({ timeS: middle(part.map((r) => r.timeS)), ntu: middle(part.map((r) => r.ntu)) });
  }
  const slopes: number[] = [];
  for (const [i, a] of blocks.entries())
    for (const b of blocks.slice(i + 1)) slopes.push((a.ntu - b.ntu) / (a.timeS - b.timeS));
  const slope = slopes.length > 0 ? middle(slopes) : 0;
  const last = readings.at(-1)?.timeS ?? 0;
  const offs = readings.map((r) => r.ntu - slope * (r.timeS - last)).sort((a, b) => a - b);
  const quarter = offs.length >> 2;
  return {
    at: middle(offs),
    slope,
    spread: (offs[offs.length - 1 - quarter] ?? 0) - (offs[quarter] ?? 0),
    spanS: last - (readings[0]?.timeS ?? last),
  };
}

function middle(values: number[]): number {
  values.sort((a, b) => a - b);
  return values[values.length >> 1] ?? 0;
}

/** Seconds before the first visit that the line goes through. */
const idleReadings = 80;
/**
 * A slope dies away over this many seconds: what falls by cleaning falls slower and slower, and carried on too far it would
 * lie under what really stands, and nothing would ever be clear. Chosen on simulated runs, no source.
 */
const trendS = 90;
/** Share by which the fall that is carried on may be wrong. */
const trendDoubt = 0.35;
/** A usual and the steepest slope of a background that is being cleaned, share of the level a second. */
const usualFall = 0.0006;
const mostFall = 0.003;
/** Standard deviation of the slope of a line by medians: this many quartile spreads, over its span and the root of its readings. */
const slopeScatter = 4;
/** A high background drifts in proportion: share of it per square root of a second (0.4 % in a minute, 1.2 % in ten). */
const driftShare = 0.0005;
