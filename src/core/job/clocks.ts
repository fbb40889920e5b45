/** A band that must hold for a clock to run: `least` and `most` in the value's own unit; null: no bound. */
export interface ClockBand {
  readonly name: string;
  readonly unit: string;
  readonly least: number | null;
  readonly most: number | null;
}

export type ClockStop =
  | { readonly why: 'not-measured'; readonly name: string }
  | {
      readonly why: 'low' | 'high';
      readonly name: string;
      readonly value: number;
      readonly limit: number;
      readonly unit: string;
    }
  | { readonly why: 'gap'; readonly name: string };

export interface ClockState {
  readonly countedS: number;
  readonly isRunning: boolean;
  /** Why it stands now; empty while it runs. */
  readonly stops: readonly ClockStop[];
  /** Seconds lost to each cause so far, by band name (`gap` for missing time). */
  readonly lostS: Readonly<Record<string, number>>;
}

/**
 * A clock that counts only while every value is inside its band: contact time of the cleaner, circulation at flow and
 * temperature. A stretch counts when it was good at both its ends and no longer than `gapS`: what was not seen is not
 * counted. Fed in time order; a time that does not rise is left out.
 */
export class BandClock {
  private readonly bands: readonly ClockBand[];
  private readonly gapS: number;
  private countedS = 0;
  private lastS: number | null = null;
  private stops: readonly ClockStop[] = [];
  private readonly lost: Record<string, number> = {};

  constructor(bands: readonly ClockBand[], gapS = 5) {
    this.bands = bands;
    this.gapS = gapS;
  }

  /** One instant; the values stand in the order of the bands. */
  add(timeS: number, values: readonly (number | null)[]): void {
    if (this.lastS !== null && timeS <= this.lastS) return;
    const stops = this.bands.flatMap((band, i) => stopOf(band, values[i] ?? null));
    if (this.lastS !== null) {
      const step = timeS - this.lastS;
      const causes = step > this.gapS ? ['gap'] : [...new Set([...this.stops, ...stops].map((s) => s.name))];
      if (causes.length === 0) this.countedS += step;
      for (const cause of causes) this.lost[cause] = (this.lost[cause] ?? 0) + step;
    }
    this.lastS = timeS;
    this.stops = stops;
  }

  /** As of `nowS`: a clock that has heard nothing for longer than the gap stands. */
  state(nowS: number = this.lastS ?? 0): ClockState {
    const isSilent = this.lastS === null || nowS - this.lastS > this.gapS;
    const stops: readonly ClockStop[] = isSilent ? [{ why: 'gap', name: 'gap' }] : this.stops;
    return { countedS: this.countedS, isRunning: stops.length === 0, stops, lostS: { ...this.lost } };
  }
}

function stopOf(band: ClockBand, value: number | null): readonly ClockStop[] {
  const { name, unit, least, most } = band;
  if (value === null || Number.isNaN(value)) return [{ why: 'not-measured', name }];
  if (least !== null && value < least) return [{ why: 'low', name, value, limit: least, unit }];
  if (most !== null && value > most) return [{ why: 'high', name, value, limit: most, unit }];
  return [];
}

/** Time to a target at the present rate of rise: null when it does not rise or has no rate. */
export function secondsToTarget(now: number, target: number, perMinute: number): number | null {
  if (now >= target) return 0;
  return perMinute > 0 ? (60 * (target - now)) / perMinute : null;
}
