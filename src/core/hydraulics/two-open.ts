import { median } from '../quantity/robust.ts';
import { type Remark, remark } from './remark.ts';
import type { HydraulicSettings } from './settings.ts';

const settleS = 40;
const holdS = 15;

/**
 * More than one emitter open: the flow of a visit lies well over what this emitter gave alone before. At a first visit
 * it is held against the highest that any emitter gave alone, once two are known, so a large emitter is not accused.
 */
export class TwoOpenWatch {
  private alone = new Map<string, number>();
  private emitter = '';
  private openedS = 0;
  private recent: number[] = [];
  private highFromS: number | null = null;
  private said = false;
  private readonly settings: HydraulicSettings;

  constructor(settings: HydraulicSettings) {
    this.settings = settings;
  }

  opened(emitter: string, timeS: number): void {
    this.shut();
    this.emitter = emitter;
    this.openedS = timeS;
  }

  /** The visit is over: what it settled to is what this emitter gives, unless more was open. */
  shut(): void {
    if (this.emitter !== '' && !this.said && this.recent.length >= 20) {
      const level = median(this.recent);
      const known = this.alone.get(this.emitter);
      this.alone.set(this.emitter, known === undefined ? level : Math.min(known, level));
    }
    this.emitter = '';
    this.recent = [];
    this.highFromS = null;
    this.said = false;
  }

  /** The pump was set otherwise, or runs the other way: what was known no longer holds. */
  forget(): void {
    this.alone.clear();
    this.recent = [];
  }

  /** What this emitter should give alone, l/min, or null. */
  expectedLpm(): number | null {
    const own = this.alone.get(this.emitter);
    if (own !== undefined) return own;
    return this.alone.size >= 2 ? Math.max(...this.alone.values()) : null;
  }

  step(timeS: number, flowLpm: number): Remark | null {
    if (this.emitter === '' || timeS - this.openedS < settleS || flowLpm < this.settings.stoppedLpm) return null;
    this.recent.push(flowLpm);
    if (this.recent.length > 60) this.recent.shift();
    const expected = this.expectedLpm();
    if (expected === null || this.said) return null;
    if (median(this.recent.slice(-5)) < expected * (1 + this.settings.twoOpenShare)) {
      this.highFromS = null;
      return null;
    }
    this.highFromS ??= timeS;
    if (timeS - this.highFromS < holdS) return null;
    this.said = true;
    return remark('two-open', this.highFromS, timeS, { flowLpm, aloneLpm: expected });
  }
}
