import { commonSlope } from './common-slope.ts';
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
  /** Flow, l/min; null without a meter. */
  readonly flows: (number | null)[];
}

/** A stretch shorter than this says nothing of a trend, s. */
const leastStretchS = 60;
/** Readings of the flow scatter: so many seconds before and after are taken together. */
const flowAroundS = 7;

/**
 * Straight line through the pressure of the last minutes, least squares, one value a second. The residuals remember, so
 * the uncertainty is widened by sqrt((1 + r) / (1 - r)), r their lag-one correlation (Bartlett 1946). A slow leak goes on
 * over many visits: their stretches are fitted with one slope and a level for each, so that what opening and shutting did
 * to the pressure does not count (analysis of covariance, common slope). Where the sensor sits the pressure also goes with the
 * square of the flow, up or down: what a change of the flow within a stretch explains as well is no trend.
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
    if (this.stretches.at(-1)?.times.length) this.stretches.push({ times: [], bars: [], temps: [], flows: [] });
  }

  /** Nothing of before counts any more. */
  forget(): void {
    this.stretches = [];
  }

  /**
   * Trends over the last minute, two minutes, and all that is kept since the last touch: a fast one shows in the shortest
   * first; and over the stretches of the last visits, once they are long enough together.
   */
  step(timeS: number, bar: number, returnC: number | null, flowLpm: number | null): PressureTrend[] {
    if (this.stretches.length === 0) this.stretches.push({ times: [], bars: [], temps: [], flows: [] });
    const now = this.stretches[this.stretches.length - 1] as Stretch;
    now.times.push(timeS);
    now.bars.push(bar);
    now.temps.push(returnC);
    now.flows.push(flowLpm);
    this.drop(timeS - this.settings.slowMostS);
    // A look every five seconds is soon enough, and a fifth of the work.
    if (timeS < this.nextS) return [];
    this.nextS = timeS + 5;
    const least = this.settings.trendLeastS;
    const kept = Math.min(this.settings.trendMostS, lastsS(now));
    const spans = [least, 2 * least, kept].filter((span, i) => span <= kept && (i < 2 || span > 2 * least));
    return [...spans.flatMap((span) => this.over(now, timeS - span) ?? []), ...this.slow()];
  }

  private drop(beforeS: number): void {
    const [first] = this.stretches;
    if (!first || !((first.times[0] ?? beforeS) < beforeS)) return;
    first.times.shift();
    first.bars.shift();
    first.temps.shift();
    first.flows.shift();
    if (this.stretches.length > 1 && lastsS(first) < leastStretchS) this.stretches.shift();
  }

  private slow(): PressureTrend[] {
    const long = this.stretches.filter((s) => lastsS(s) >= leastStretchS);
    const quietS = long.reduce((sum, s) => sum + lastsS(s), 0);
    if (quietS < this.settings.slowLeastS) return [];
    // The ends tell at little cost whether there is anything to fit a line to.
    const moved = movedFrom(long.map((s) => s.bars)) ?? 0;
    if (Math.abs(moved) < this.settings.trendBar / 2) return [];
    const all = this.trendOf(long, quietS, true);
    // What has stopped is not told.
    const last = long.at(-1);
    const now = last && this.over(last, (last.times.at(-1) ?? 0) - 2 * leastStretchS);
    return now && now.barPerMin / all.barPerMin >= 0.5 ? [all] : [];
  }

  /** The end of a stretch, from `fromS` on. */
  private over(s: Stretch, fromS: number): PressureTrend | null {
    let from = s.times.length;
    while (from > 0 && (s.times[from - 1] ?? 0) >= fromS) from -= 1;
    const tail = {
      times: s.times.slice(from),
      bars: s.bars.slice(from),
      temps: s.temps.slice(from),
      flows: s.flows.slice(from),
    };
    return tail.times.length < 20 ? null : this.trendOf([tail], lastsS(tail), false);
  }

  private trendOf(stretches: readonly Stretch[], quietS: number, isSlow: boolean): PressureTrend {
    const { stoppedLpm, flowBar } = this.settings;
    const parts = stretches.map(({ times, bars, flows }) => ({ t: times, y: bars, x: squaresOf(flows, stoppedLpm) }));
    const line = commonSlope(parts, flowBar);
    return {
      fromS: stretches[0]?.times[0] ?? 0,
      toS: stretches.at(-1)?.times.at(-1) ?? 0,
      quietS,
      isSlow,
      barPerMin: 60 * line.slope,
      uBarPerMin: 60 * line.u,
      changeBar: line.slope * quietS,
      changeK: movedFrom(stretches.map((s) => s.temps)),
    };
  }
}

/** Squares of the flow over their mean, each from the seconds around it; null where the flow was not read throughout. */
function squaresOf(flows: readonly (number | null)[], leastLpm: number): number[] | null {
  const upTo = [0];
  for (const [i, flow] of flows.entries()) {
    if (flow === null) return null;
    upTo.push((upTo[i] ?? 0) + flow);
  }
  const n = flows.length;
  const mean = Math.max(leastLpm, (upTo[n] ?? 0) / n);
  return flows.map((_, i) => {
    const [from, to] = [Math.max(0, i - flowAroundS), Math.min(n, i + flowAroundS + 1)];
    return (((upTo[to] ?? 0) - (upTo[from] ?? 0)) / (to - from) / mean) ** 2;
  });
}

function lastsS(s: Stretch): number {
  return (s.times.at(-1) ?? 0) - (s.times[0] ?? 0);
}

/** Sum over the stretches of what the readings moved from their first to their last; null where one has none. */
function movedFrom(stretches: readonly (readonly (number | null)[])[]): number | null {
  let sum = 0;
  for (const values of stretches) {
    const first = meanOfTen(values, 0, 1);
    const last = meanOfTen(values, values.length - 1, -1);
    if (first === null || last === null) return null;
    sum += last - first;
  }
  return sum;
}

/** Mean of up to ten values present, from index `from` on in steps of `by`. */
function meanOfTen(values: readonly (number | null)[], from: number, by: 1 | -1): number | null {
  let n = 0;
  let sum = 0;
  for (let i = from; i >= 0 && i < values.length && n < 10; i += by) {
    const v = values[i];
    if (v === null || v === undefined) continue;
    sum += v;
    n += 1;
  }
  return n > 0 ? sum / n : null;
}
