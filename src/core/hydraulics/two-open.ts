import { median } from '../quantity/robust.ts';
import { ownShare } from './own-share.ts';
import { type Remark, remark } from './remark.ts';
import type { HydraulicSettings } from './settings.ts';

const settleS = 40;
const holdS = 15;
/** A flow that is back is told by the step that brought it; where a tap or a stop hid the step, after so long, s; no source. */
const backS = 30;
/** How fast the flow of several is followed, as a share of what it moved, each second; no source. */
const followed = 0.02;

/**
 * More than one emitter open: the flow of a visit lies well over what this emitter gave alone before, at an earlier
 * visit or in this one. Emitters differ too much to be held against one another.
 */
export class TwoOpenWatch {
  private alone = new Map<string, number>();
  private emitter = '';
  private openedS = 0;
  private recent: number[] = [];
  private highFromS: number | null = null;
  /** Flow while more is open, followed slowly: what a filling chamber takes of it shuts nothing. Null: none was told open. */
  private sharedLpm: number | null = null;
  private backFromS: number | null = null;
  /** Highest flow that this visit has fallen from: rising back to it opens nothing new. */
  private ceilingLpm = 0;
  /** Highest flow that held in this run. */
  private mostLpm = 0;
  private readonly settings: HydraulicSettings;

  constructor(settings: HydraulicSettings) {
    this.settings = settings;
  }

  opened(emitter: string, timeS: number): void {
    this.shut();
    this.emitter = emitter;
    this.openedS = timeS;
  }

  /**
   * The visit is over: what it settled to is what this emitter gives, unless more was open. Told of another emitter (its tap
   * came after the next opening) it ends nothing.
   */
  shut(emitter = this.emitter): void {
    if (emitter !== this.emitter) return;
    const level = median(this.recent);
    // One that fell, and not back to what the emitter gives, was throttled: it tells nothing of the next visit.
    const isWhole = level * (1 + this.settings.riseShare) > this.ceilingLpm;
    if (this.emitter !== '' && this.sharedLpm === null && isWhole && this.recent.length >= 20) {
      const known = this.alone.get(this.emitter);
      this.alone.set(this.emitter, known === undefined ? level : Math.min(known, level));
    }
    this.emitter = '';
    this.recent = [];
    this.highFromS = null;
    this.sharedLpm = this.backFromS = null;
    this.ceilingLpm = 0;
  }

  /** The pump was set otherwise, or runs the other way: what was known no longer holds. */
  forget(): void {
    this.alone.clear();
    this.recent = [];
  }

  /** The flow rose in the middle of a visit and no tap says why. */
  rose(timeS: number, step: { onsetS: number; beforeLpm: number; afterLpm: number }): Remark | null {
    const isNews = this.sharedLpm === null && step.afterLpm >= this.ceilingLpm * (1 + this.settings.riseShare);
    if (this.emitter === '' || !isNews) return null;
    this.alone.set(this.emitter, step.beforeLpm);
    return this.told(step.onsetS, timeS, step.afterLpm, step.beforeLpm);
  }

  /** Any step within the visit, told or not: what it fell from is no news when it comes back. */
  saw(step: { onsetS: number; beforeLpm: number }): void {
    if (this.emitter !== '' && step.onsetS > this.openedS + settleS)
      this.ceilingLpm = Math.max(this.ceilingLpm, step.beforeLpm);
  }

  private told(fromS: number, atS: number, flowLpm: number, aloneLpm: number): Remark {
    this.sharedLpm = flowLpm;
    this.backFromS = null;
    const share = ownShare(aloneLpm, flowLpm, this.mostLpm);
    return remark('two-open', fromS, atS, { flowLpm, aloneLpm, ownShare: share });
  }

  /** A level that held. */
  held(levelLpm: number): void {
    this.mostLpm = Math.max(this.mostLpm, levelLpm);
  }

  /** A fall that no tap explains: back to what the emitter gives alone it is the end of what was told. */
  fell(timeS: number, step: { onsetS: number; afterLpm: number }): Remark | null {
    return this.isAlone(step.afterLpm) ? this.ended(step.onsetS, timeS, step.afterLpm) : null;
  }

  /** More was told open, and this is nearer to what the emitter gives alone; far under that, something else took the flow. */
  private isAlone(flowLpm: number): boolean {
    const alone = this.alone.get(this.emitter);
    if (this.sharedLpm === null || alone === undefined) return false;
    return flowLpm < Math.sqrt(alone * this.sharedLpm) && flowLpm * (1 + this.settings.stepShare) > alone;
  }

  private ended(fromS: number, atS: number, flowLpm: number): Remark {
    this.sharedLpm = this.backFromS = null;
    this.recent = [];
    this.ceilingLpm = 0;
    return remark('one-open', fromS, atS, { flowLpm });
  }

  /** @param leastLpm what the flow must have risen by at the least: the meter's own steps are no second emitter */
  step(timeS: number, flowLpm: number, leastLpm: number): Remark | null {
    if (this.emitter === '' || timeS - this.openedS < settleS || flowLpm < this.settings.stoppedLpm) return null;
    this.recent.push(flowLpm);
    if (this.recent.length > 60) this.recent.shift();
    const level = median(this.recent.slice(-5));
    if (this.sharedLpm !== null) return this.back(timeS, level, this.sharedLpm);
    const expected = this.alone.get(this.emitter);
    if (expected === undefined) return null;
    if (level < Math.max(expected * (1 + this.settings.twoOpenShare), expected + leastLpm)) {
      this.highFromS = null;
      return null;
    }
    this.highFromS ??= timeS;
    if (timeS - this.highFromS < holdS) return null;
    return this.told(this.highFromS, timeS, flowLpm, expected);
  }

  private back(timeS: number, level: number, sharedLpm: number): Remark | null {
    if (!this.isAlone(level)) {
      this.backFromS = null;
      this.sharedLpm = sharedLpm + followed * (level - sharedLpm);
      return null;
    }
    this.backFromS ??= timeS;
    return timeS - this.backFromS < backS ? null : this.ended(this.backFromS, timeS, level);
  }
}
