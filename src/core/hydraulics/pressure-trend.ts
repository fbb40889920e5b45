import type { HydraulicSettings } from './settings.ts';

/** A pressure trend with its standard uncertainty, over a stretch of quiet pipes. */
export interface PressureTrend {
  readonly fromS: number;
  readonly toS: number;
  readonly barPerMin: number;
  readonly uBarPerMin: number;
  readonly changeBar: number;
  /** Temperature change over the stretch, K; null without a thermometer. */
  readonly changeK: number | null;
}

/**
 * Straight line through the pressure of the last minutes, least squares, one value a second. The residuals remember, so
 * the uncertainty is widened by sqrt((1 + r) / (1 - r)), r their lag-one correlation (Bartlett 1946).
 */
export class PressureTrendWatch {
  private times: number[] = [];
  private bars: number[] = [];
  private temps: (number | null)[] = [];
  private nextS = -Infinity;
  private readonly settings: HydraulicSettings;

  constructor(settings: HydraulicSettings) {
    this.settings = settings;
  }

  /** The pipes were touched: a step of the pressure is no trend. */
  forget(): void {
    this.times = [];
    this.bars = [];
    this.temps = [];
  }

  /** Trends over the last minute, two minutes, and all that is kept: a fast one shows in the shortest first. */
  step(timeS: number, bar: number, returnC: number | null): PressureTrend[] {
    this.times.push(timeS);
    this.bars.push(bar);
    this.temps.push(returnC);
    while ((this.times[0] ?? timeS) < timeS - this.settings.trendMostS) {
      this.times.shift();
      this.bars.shift();
      this.temps.shift();
    }
    // A look every five seconds is soon enough, and a fifth of the work.
    if (timeS < this.nextS) return [];
    this.nextS = timeS + 5;
    const least = this.settings.trendLeastS;
    const kept = timeS - (this.times[0] ?? timeS);
    const spans = [least, 2 * least, kept].filter((span, i) => span <= kept && (i < 2 || span > 2 * least));
    return spans.flatMap((span) => this.over(timeS, span) ?? []);
  }

  private over(timeS: number, spanS: number): PressureTrend | null {
    const from = this.times.findIndex((t) => t >= timeS - spanS);
    const times = this.times.slice(from);
    if (times.length < 20) return null;
    const temps = this.temps.slice(from);
    const line = fit(times, this.bars.slice(from));
    const first = firstOf(temps);
    const last = firstOf([...temps].reverse());
    const start = times[0] ?? timeS;
    return {
      fromS: start,
      toS: timeS,
      barPerMin: 60 * line.slope,
      uBarPerMin: 60 * line.u,
      changeBar: line.slope * (timeS - start),
      changeK: first !== null && last !== null ? last - first : null,
    };
  }
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
