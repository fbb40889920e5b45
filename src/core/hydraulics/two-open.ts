import { median } from '../quantity/robust.ts';
import { ownShare } from './own-share.ts';
import { type Remark, remark } from './remark.ts';
import type { HydraulicSettings } from './settings.ts';

const settleS = 40;
const holdS = 15;

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
  private said = false;
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
    if (this.emitter !== '' && !this.said && isWhole && this.recent.length >= 20) {
      const known = this.alone.get(this.emitter);
      this.alone.set(this.emitter, known === undefined ? level : Math.min(known, level));
    }
    this.emitter = '';
    this.recent = [];
    this.highFromS = null;
    this.said = false;
    this.ceilingLpm = 0;
  }

  /** The pump was set otherwise, or runs the other way: what was known no longer holds. */
  forget(): void {
    this.alone.clear();
    this.recent = [];
  }

  /** The flow rose in the middle of a visit and no tap says why. */
  rose(timeS: number, step: { onsetS: number; beforeLpm: number; afterLpm: number }): Remark | null {
    if (this.emitter === '' || this.said || step.afterLpm < this.ceilingLpm * (1 + this.settings.riseShare))
      return null;
    this.said = true;
    this.alone.set(this.emitter, step.beforeLpm);
    return this.told(step.onsetS, timeS, step.afterLpm, step.beforeLpm);
  }

  /** Any step within the visit, told or not: what it fell from is no news when it comes back. */
  saw(step: { onsetS: number; beforeLpm: number }): void {
    if (this.emitter !== '' && step.onsetS > this.openedS + settleS)
      this.ceilingLpm = Math.max(this.ceilingLpm, step.beforeLpm);
  }

  private told(fromS: number, atS: number, flowLpm: number, aloneLpm: number): Remark {
    const share = ownShare(aloneLpm, flowLpm, this.mostLpm);
    return remark('two-open', fromS, atS, { flowLpm, aloneLpm, ownShare: share });
  }

  /** A level that held. */
  held(levelLpm: number): void {
    this.mostLpm = Math.max(this.mostLpm, levelLpm);
  }

  /** Back to what the emitter gives alone: the end of what was told. */
  fell(timeS: number, step: { onsetS: number; afterLpm: number }): Remark | null {
    const alone = this.alone.get(this.emitter);
    const off = Math.abs(Math.log(step.afterLpm / (alone ?? Number.NaN)));
    if (!this.said || !(off <= Math.log1p(this.settings.stepShare))) return null;
    this.said = false;
    this.recent = [];
    this.ceilingLpm = 0;
    return remark('one-open', step.onsetS, timeS, { flowLpm: step.afterLpm });
  }

  step(timeS: number, flowLpm: number): Remark | null {
    if (this.emitter === '' || timeS - this.openedS < settleS || flowLpm < this.settings.stoppedLpm) return null;
    this.recent.push(flowLpm);
    if (this.recent.length > 60) this.recent.shift();
    const expected = this.alone.get(this.emitter);
    if (expected === undefined || this.said) return null;
    if (median(this.recent.slice(-5)) < expected * (1 + this.settings.twoOpenShare)) {
      this.highFromS = null;
      return null;
    }
    this.highFromS ??= timeS;
    if (timeS - this.highFromS < holdS) return null;
    this.said = true;
    return this.told(this.highFromS, timeS, flowLpm, expected);
  }
}
