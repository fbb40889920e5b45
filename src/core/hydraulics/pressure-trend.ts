import type { HydraulicSettings } from './settings.ts';

/** A pressure trend with its standard uncertainty, over quiet pipes. */
export interface PressureTrend {
  readonly fromS: number;
  readonly toS: number;
  /** Quiet seconds in it: all of them, or those of several stretches together. */
  readonly quietS: number;
  /** Over several stretches between which the pipes were touched. */
  readonly isSlow: boolean;
  readonly barPerMin: number;
  readonly uBarPerMin: number;
  readonly changeBar: number;
  /** Temperature change over the quiet seconds, K; null without a thermometer. */
  readonly changeK: number | null;
}

/** Quiet pipes from one touch to the next: one value a second. */
interface Stretch {
  readonly times: number[];
  readonly bars: number[];
  readonly temps: (number | null)[];
}

/** A stretch shorter than this says nothing of a trend, s. */
const leastStretchS = 60;

/**
 * Straight line through the pressure of the last minutes, least squares, one value a second. The residuals remember, so
 * the uncertainty is widened by sqrt((1 + r) / (1 - r)), r their lag-one correlation (Bartlett 1946). A slow leak goes on
 * over many visits: their stretches are fitted with one slope and a level for each, so that what opening and shutting did
 * to the pressure does not count (analysis of covariance, common slope).
 */
export class PressureTrendWatch {
  private stretches: Stretch[] = [];
  private nextS = -Infinity;
  private readonly settings: HydraulicSettings;

  constructor(settings: HydraulicSettings) {
    this.settings = settings;
  }

  /** The pipes were touched: a step of the pressure is no trend. */
  touch(): void {
    const last = this.stretches.at(-1);
    if (last && lastsS(last) < leastStretchS) this.stretches.pop();
    if (this.stretches.at(-1)?.times.length) this.stretches.push({ times: [], bars: [], temps: [] });
  }

  /** Nothing of before counts any more. */
  forget(): void {
    this.stretches = [];
  }

  /**
   * Trends over the last minute, two minutes, and all that is kept since the last touch: a fast one shows in the shortest
   * first; and over the stretches of the last visits, once they are long enough together.
   */
  step(timeS: number, bar: number, returnC: number | null): PressureTrend[] {
    if (this.stretches.length === 0) this.stretches.push({ times: [], bars: [], temps: [] });
    const now = this.stretches[this.stretches.length - 1] as Stretch;
    now.times.push(timeS);
    now.bars.push(bar);
    now.temps.push(returnC);
    this.drop(timeS - this.settings.slowMostS);
    // A look every five seconds is soon enough, and a fifth of the work.
    if (timeS < this.nextS) return [];
    this.nextS = timeS + 5;
    const least = this.settings.trendLeastS;
    const kept = Math.min(this.settings.trendMostS, lastsS(now));
    const spans = [least, 2 * least, kept].filter((span, i) => span <= kept && (i < 2 || span > 2 * least));
    return [...spans.flatMap((span) => over(now, timeS - span) ?? []), ...this.slow()];
  }

  private drop(beforeS: number): void {
    const [first] = this.stretches;
    if (!first || !((first.times[0] ?? beforeS) < beforeS)) return;
    first.times.shift();
    first.bars.shift();
    first.temps.shift();
    if (this.stretches.length > 1 && lastsS(first) < leastStretchS) this.stretches.shift();
  }

  private slow(): PressureTrend[] {
    const long = this.stretches.filter((s) => lastsS(s) >= leastStretchS);
    const quietS = long.reduce((sum, s) => sum + lastsS(s), 0);
    if (quietS < this.settings.slowLeastS) return [];
    const all = trendOf(long, quietS, true);
    // What has stopped is not told.
    const last = long.at(-1);
    const now = last && over(last, (last.times.at(-1) ?? 0) - 2 * leastStretchS);
    return now && now.barPerMin / all.barPerMin >= 0.5 ? [all] : [];
  }
}

function lastsS(s: Stretch): number {
  return (s.times.at(-1) ?? 0) - (s.times[0] ?? 0);
}

/** The end of a stretch, from `fromS` on. */
function over(s: Stretch, fromS: number): PressureTrend | null {
  const from = s.times.findIndex((t) => t >= fromS);
  const tail = { times: s.times.slice(from), bars: s.bars.slice(from), temps: s.temps.slice(from) };
  return tail.times.length < 20 ? null : trendOf([tail], lastsS(tail), false);
}

function trendOf(stretches: readonly Stretch[], quietS: number, isSlow: boolean): PressureTrend {
  const t = stretches.flatMap((s) => centred(s.times));
  const line = fit(
    t,
    stretches.flatMap((s) => centred(s.bars)),
  );
  return {
    fromS: stretches[0]?.times[0] ?? 0,
    toS: stretches.at(-1)?.times.at(-1) ?? 0,
    quietS,
    isSlow,
    barPerMin: 60 * line.slope,
    uBarPerMin: 60 * line.u,
    changeBar: line.slope * quietS,
    changeK: changeK(stretches),
  };
}

/** Sum over the stretches of what the thermometer moved from their first to their last readings. */
function changeK(stretches: readonly Stretch[]): number | null {
  let sum = 0;
  for (const s of stretches) {
    const first = firstOf(s.temps);
    const last = firstOf([...s.temps].reverse());
    if (first === null || last === null) return null;
    sum += last - first;
  }
  return sum;
}

function centred(values: readonly number[]): number[] {
  const mean = values.reduce((a, b) => a + b, 0) / values.length;
  return values.map((v) => v - mean);
}

/** Mean of up to ten first values present. */
function firstOf(values: readonly (number | null)[]): number | null {
  let n = 0;
  let sum = 0;
  for (const v of values) {
    if (v === null) continue;
    sum += v;
    if (++n === 10) break;
  }
  return n > 0 ? sum / n : null;
}

/** Least-squares line with the slope and its widened standard uncertainty. */
export function fit(t: readonly number[], y: readonly number[]): { slope: number; u: number } {
  const n = t.length;
  const mt = t.reduce((a, b) => a + b, 0) / n;
  const my = y.reduce((a, b) => a + b, 0) / n;
  let stt = 0;
  let sty = 0;
  for (let i = 0; i < n; i++) {
    stt += ((t[i] ?? 0) - mt) ** 2;
    sty += ((t[i] ?? 0) - mt) * ((y[i] ?? 0) - my);
  }
  const slope = sty / stt;
  let squares = 0;
  let lagged = 0;
  let before = 0;
  for (let i = 0; i < n; i++) {
    const e = (y[i] ?? 0) - my - slope * ((t[i] ?? 0) - mt);
    squares += e * e;
    lagged += e * before;
    before = e;
  }
  const r = squares > 0 ? Math.max(0, Math.min(0.98, lagged / squares)) : 0;
  return { slope, u: Math.sqrt((squares / (n - 2) / stt) * ((1 + r) / (1 - r))) };
}
