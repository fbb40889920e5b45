import type { LineSettings } from './settings.ts';

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
  /** Lowest block of readings before the first visit, and the block that is being filled. */
  private lowest = Number.POSITIVE_INFINITY;
  private block: number[] = [];
  /** Nothing was known before the first visit: the blocks of its first readings, the last of them not yet counted. */
  private isGuess = false;
  private fresh: number[] = [];
  private waiting = Number.NaN;
  private readonly settings: LineSettings;

  constructor(settings: LineSettings) {
    this.settings = settings;
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
    const { backgroundDriftNtu, backgroundDriftShare, backgroundTrendS, backgroundTrendDoubt } = this.settings;
    const fall = slope * backgroundTrendS * (1 - Math.exp(-dt / backgroundTrendS));
    this.ntu = Math.max(0, ntu + fall);
    const drift = Math.hypot(backgroundDriftNtu, backgroundDriftShare * this.ntu);
    this.variance = variance + drift * drift * dt + (backgroundTrendDoubt * fall) ** 2;
  }

  /**
   * A reading before the first visit: the whole system goes round, nothing is being set free. `unmixed`: share of its water
   * that has not gone round yet. Water that has stood is clearer than what comes when all is mixed: so long, the level may lie higher.
   */
  idle(timeS: number, ntu: number, unmixed = 0): void {
    if (!this.isIdle) return;
    this.recent.push({ timeS, ntu });
    if (this.recent.length > idleReadings) this.recent.shift();
    if (this.recent.length < 10) return;
    const line = medianLine(this.recent);
    // A line through so few seconds tells little of the slope: it is shrunk towards none, and a rise is not carried on.
    const doubt = (slopeScatter * line.spread) / line.spanS / Math.sqrt(this.recent.length);
    const usual = this.settings.backgroundFallShare * Math.max(1, line.at);
    const gain = line.slope < 0 ? (usual * usual) / (usual * usual + doubt * doubt) : 0;
    const level = Math.max(0, line.at - 0.5 * (1 - gain) * line.slope * line.spanS);
    const sd = Math.max(0.4, 0.015 * level, 0.3 * line.spread);
    // The opening stirs dirt up: what stood lower before may be the background, and so may what stands now.
    const gap = Math.max(0, level - this.lowestBlock(ntu));
    const settled = mostSettled * unmixed;
    this.set(
      timeS,
      level - gap / 2,
      sd * sd + (gap / 2) ** 2 + (settled * level) ** 2,
      gap > mostStirred * level ? 0 : Math.max(-mostFall * level, gain * line.slope),
    );
  }

  private lowestBlock(ntu: number): number {
    this.block.push(ntu);
    if (this.block.length === blockReadings) {
      this.lowest = Math.min(this.lowest, middle(this.block));
      this.block = [];
    }
    return this.lowest;
  }

  /** The first visit begins: what stands from now on may be dirt that was set free. */
  visited(): void {
    this.isIdle = false;
  }

  /** Nothing known before the first visit: the first reading, with little trust. */
  guess(timeS: number, ntu: number): void {
    this.set(timeS, ntu, (5 + 0.5 * ntu) ** 2, 0);
    this.isGuess = true;
  }

  /**
   * A reading of the first visit before anything that was set free can have come. Where nothing was known before, the highest
   * block of them is the level: settled water lies under it, never over.
   */
  before(timeS: number, ntu: number): void {
    if (!this.isGuess) return;
    this.fresh.push(ntu);
    if (this.fresh.length < blockReadings) return;
    const seen = this.waiting;
    // A front may have begun in the newest block.
    this.waiting = middle(this.fresh);
    this.fresh = [];
    if (Number.isNaN(seen)) return;
    const sd = 0.5 + freshShare * seen;
    if (seen > this.ntu || this.sd > 2 * sd) this.set(timeS, seen, sd * sd, 0);
  }

  /** What a stretch of readings taught. */
  learn(timeS: number, ntu: number, sd: number): void {
    const { atS, slope } = this.anchor;
    const left = slope * Math.exp(-Math.max(0, timeS - atS) / this.settings.backgroundTrendS);
    this.set(timeS, ntu, Math.max(0.3 * 0.3, (0.01 * ntu) ** 2, sd * sd), left);
  }

  /** The reading may stand off by so much from now on, NTU: what was known of the level holds only so far. */
  doubt(timeS: number, ntu: number): void {
    if (!this.known) return;
    this.to(timeS);
    this.set(timeS, this.ntu, this.variance + ntu * ntu, 0);
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
/** Readings of a block whose middle counts as a level. */
const blockReadings = 10;
/** Chosen on simulated runs, no source: beyond this share of the level what was stirred up falls in its own way, and its slope is not carried on. */
const mostStirred = 0.3;
/** Water that has stood is clearer by up to this share, and a level told by a few blocks is known to that. Chosen on simulated
 * runs, no source. */
const mostSettled = 0.2;
const freshShare = 0.06;
/** Steepest slope of a background that is being cleaned, share of the level a second. */
const mostFall = 0.003;
/** Standard deviation of the slope of a line by medians: this many quartile spreads, over its span and the root of its readings. */
const slopeScatter = 4;
