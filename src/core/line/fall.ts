import type { Loop } from './loop.ts';
import type { Passes } from './passes.ts';
import type { Seen } from './pulses.ts';
import type { Pass } from './record.ts';

/**
 * Tells from a pulse's fall how far its emitter is. When a pass ends, the emitter begins to wash out like a stirred tank, and
 * one pipe later the reading begins to fall: it has halved by ln 2 of a washout after that (Levenspiel, Chemical
 * Reaction Engineering, ch. 14). The end of a pass is told as it happens, its beginning seldom, and passes differ in length: so the
 * fall tells the way more sharply than the front does.
 */
export class Falls {
  private peakNtu = 0;
  private peakL = 0;
  private highL = 0;
  private isWatching = false;
  /** The pass that has told the way already: its first fall counts. */
  private told: Pass | null = null;

  /** A new visit, or nothing could be read: the pulse under way tells nothing any more. */
  restart(): void {
    this.isWatching = false;
  }

  /**
   * One second; `isTop` where the pulse under way stands at its highest so far. Returns litres from the end of the last pass
   * until its water has gone by on the mean, once the fall shows them; else null.
   */
  step(seen: Seen, isTop: boolean, loop: Loop, passes: Passes): number | null {
    if (isTop) {
      this.peakNtu = seen.excess;
      this.peakL = this.highL = loop.litres;
      this.isWatching = true;
    }
    if (!this.isWatching) return null;
    if (seen.excess >= half * this.peakNtu) this.highL = loop.litres;
    if (seen.excess > surelyFallen * this.peakNtu) return null;
    this.isWatching = false;
    const pass = passes.record.passes.at(-1);
    if (!pass || pass === this.told || passes.isUnderWay || passes.isShared) return null;
    const isPlain = this.peakNtu >= Math.max(leastPeakNtu, leastPeakSds * seen.sd);
    // The pulse of an earlier pass peaks before this one's water can have come.
    const isOwn = this.peakL >= pass.startL + earliest * loop.transit.pipeL(passes.path) && this.highL > pass.endL;
    if (!isPlain || !isOwn) return null;
    this.told = pass;
    return this.highL - pass.endL + afterHalf * loop.washoutL + lastSweepS * loop.litresPerS;
  }
}

const half = 0.5;
/** A fall has passed the half for good when it has come to this share of the peak. */
const surelyFallen = 0.42;
/** Pulses under this, or under so many times the scatter, tell no half. */
const leastPeakNtu = 10;
const leastPeakSds = 10;
/** No dirt comes before this part of the pipe has flowed since its pass began. */
const earliest = 0.5;
/** Half gone is ln 2 of a washout after the end; on the mean the water has gone by after a whole one. The last sweep is made a
 * little before the end of a pass is told. Both rounded down: chosen on simulated runs, no source. */
const afterHalf = 0.25;
const lastSweepS = 3;
