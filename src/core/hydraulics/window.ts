import { quantile } from '../quantity/robust.ts';
import { type Remark, remark } from './remark.ts';
import type { HydraulicSettings } from './settings.ts';

/** Stretches of this length are compared, and so many of them. */
const stretchS = 180;
const stretches = 5;
/** How often the stretches are looked at, s: they last minutes, and to sort them is dear. */
const lookEveryS = 30;
/** Share of a stretch that must have been seen. */
const leastSeen = 0.6;
/** Lowest twentieth of a stretch: what stands between the pulses. */
const lowest = 0.05;

/**
 * A film grows on the sensor's window: what stands between the pulses climbs by nearly the same, stretch after stretch,
 * for a quarter of an hour. Dirt does not: it comes in pulses and settles. A chamber that loads can look the same for a
 * while, so the remark names both.
 */
export class WindowWatch {
  private readonly times: number[] = [];
  private readonly ntu: number[] = [];
  private said = false;
  private readonly settings: HydraulicSettings;

  constructor(settings: HydraulicSettings) {
    this.settings = settings;
  }

  step(timeS: number, turbidityNtu: number): Remark | null {
    const { times, ntu } = this;
    times.push(timeS);
    ntu.push(turbidityNtu);
    const keptS = stretchS * stretches;
    while ((times[0] ?? timeS) <= timeS - keptS) {
      times.shift();
      ntu.shift();
    }
    if (Math.floor(timeS) % lookEveryS !== 0) return null;
    const lows = this.lows(timeS);
    const climbs = lows.slice(1).map((low, i) => low - (lows[i] ?? low));
    const [least, most] = [Math.min(...climbs), Math.max(...climbs)];
    const { windowClimbNtu, windowClimbRatio } = this.settings;
    const climbing = lows.length === stretches && least >= windowClimbNtu && most <= windowClimbRatio * least;
    // Once told it is told again only after the climb has stopped.
    if (!climbing) {
      if (lows.length === stretches && least < windowClimbNtu / 2) this.said = false;
      return null;
    }
    if (this.said) return null;
    this.said = true;
    const first = lows[0] ?? 0;
    const last = lows.at(-1) ?? 0;
    return remark('window-fouling', timeS - keptS, timeS, {
      beforeNtu: first,
      backgroundNtu: last,
      ntuPerMin: (60 * (last - first)) / (stretchS * (stretches - 1)),
    });
  }

  /** What stood between the pulses, oldest stretch first; empty unless enough of each was seen. */
  private lows(timeS: number): number[] {
    const { times } = this;
    const lows: number[] = [];
    let end = times.length;
    for (let i = 1; i <= stretches; i += 1) {
      let from = end;
      while (from > 0 && (times[from - 1] ?? 0) > timeS - stretchS * i) from -= 1;
      if (end - from < leastSeen * stretchS) return [];
      lows.push(quantile(this.ntu.slice(from, end), lowest));
      end = from;
    }
    return lows.reverse();
  }
}
