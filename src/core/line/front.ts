import { Cusum } from '../changepoint/cusum.ts';

export interface Front {
  /** Where the rise began and when it was declared, run-clock seconds. */
  readonly onsetS: number;
  readonly saidS: number;
}

/**
 * Looks for new fronts: a rise of turbidity over what the line would have done by itself. The reference follows a fall
 * at once and a rise only slowly, so tails and the drift of the background are no news; the echo that is expected is
 * taken off first. What is left, in units of its scatter, goes into one-sided CUSUMs (Page 1954): a patient one for
 * fronts that nothing announced, a quicker one while a pass's water is due.
 */
export class Fronts {
  private reference = Number.NaN;
  private rising = false;
  private top = 0;
  /** Of the rise under way: when it began, from what level, and its last seconds. */
  private onsetS = 0;
  private base = 0;
  private readonly past: { readonly t: number; readonly level: number }[] = [];
  private readonly due: Cusum;
  private readonly free: Cusum;

  constructor(evidenceDue: number, evidenceFree: number) {
    const law = { mean: 0, sd: 1 };
    this.due = new Cusum({ reference: law, k: allowance, h: evidenceDue / allowance / 2, side: 'up' });
    this.free = new Cusum({ reference: law, k: allowance, h: evidenceFree / allowance / 2, side: 'up' });
  }

  /**
   * One second: `level` is the reading less the expected echo, `sd` its scatter, `floor` the background under which a
   * rise is only a recovery.
   */
  step(t: number, level: number, sd: number, floor: number, due: boolean): Front | null {
    if (Number.isNaN(level)) return null;
    if (Number.isNaN(this.reference)) this.reference = level;
    if (this.rising) {
      if (level > this.top) this.top = level;
      this.reference = Math.max(this.reference, level);
      if (level < this.top - Math.max(3 * sd, 0.08 * Math.abs(this.top - floor))) this.rising = false;
      return due ? this.steeper(t, level, sd) : null;
    }
    const base = Math.max(this.reference, floor);
    const z = (level - base) / sd;
    const capped = Math.min(z, 6);
    const a = this.due.step(capped, t);
    const b = this.free.step(capped, t);
    const found = due ? (a ?? b) : b;
    this.follow(level, sd, Math.max(this.due.level, this.free.level) > 0.15);
    if (!found) return null;
    this.begin(found.onsetT, base, level);
    return { onsetS: found.onsetT, saidS: t };
  }

  private begin(onsetS: number, base: number, level: number): void {
    this.rising = true;
    this.onsetS = onsetS;
    this.base = base;
    this.past.length = 0;
    this.top = level;
    this.reference = level;
    this.due.reset();
    this.free.reset();
  }

  /**
   * A slow rise (an echo, dust) on which a pass's own front comes: within a few seconds it rises by much more than in all
   * the time before.
   */
  private steeper(t: number, level: number, sd: number): Front | null {
    const { past } = this;
    past.push({ t, level });
    if (past.length <= steepS) return null;
    const first = past.shift();
    if (!first || first.t - this.onsetS < slowS) return null;
    const early = Math.max(sd, first.level - this.base);
    const now = level - first.level;
    if (now < steepness * early || now < 8 * sd) return null;
    const onset = past.findLast((p) => p.level - first.level < 0.1 * now) ?? first;
    this.begin(onset.t, first.level, level);
    return { onsetS: onset.t, saidS: t };
  }

  /** A sure fall is followed at once, a rise slowly, and hardly at all while one is being weighed. */
  private follow(level: number, sd: number, weighing: boolean): void {
    const off = level - this.reference;
    if (off < -2.5 * sd) this.reference += 0.35 * off;
    else if (off < 0 || !weighing) this.reference += 0.1 * off;
    else this.reference += 0.02 * Math.min(off, 2 * sd);
  }

  /** The line was blind or still: what comes next is compared with nothing before. */
  restart(): void {
    this.reference = Number.NaN;
    this.rising = false;
    this.due.reset();
    this.free.reset();
  }
}

/** A rise has been slow for at least so long, s, and becomes a front when in so many seconds it rises by so many times as much.
 * Chosen on simulated runs, no source. */
const slowS = 10;
const steepS = 8;
const steepness = 2;
/** Allowance in standard deviations: a rise of two is what a CUSUM with it finds soonest. */
const allowance = 1;
