import type { TransitInput } from '../circuit/transit.ts';
import type { Loop } from './loop.ts';
import type { Pass, VisitRecord } from './record.ts';
import type { LineSettings } from './settings.ts';

/**
 * What is known of the passes of the visit under way, told or not, and where their water is. Time and litres of each pass
 * stand in the visit's record; here is what follows from them.
 */
export class Passes {
  private agitating: { readonly startS: number; readonly startL: number } | null = null;
  /** Pulses that the visit had when the last pass was told. */
  private pulsesBefore = 0;
  private readonly settings: LineSettings;
  private readonly loop: Loop;

  constructor(settings: LineSettings, loop: Loop) {
    this.settings = settings;
    this.loop = loop;
  }

  /** A pass was told to have begun, and not yet to have ended. */
  get isUnderWay(): boolean {
    return this.agitating !== null;
  }

  /** A visit begins. */
  clear(): void {
    this.agitating = null;
    this.pulsesBefore = 0;
  }

  start(timeS: number, record: VisitRecord): void {
    this.agitating = { startS: timeS, startL: this.loop.litres };
    this.pulsesBefore = record.pulses.length;
  }

  /** A pass whose beginning was not told is taken to have begun a usual pass before, never before the opening. */
  end(timeS: number, record: VisitRecord): void {
    const startS = this.agitating?.startS ?? Math.max(record.fromS, timeS - this.settings.passLengthS);
    const startL = this.agitating?.startL ?? this.loop.litresAt(startS);
    record.passes.push({ startS, endS: timeS, startL, endL: this.loop.litres, isToldStart: this.isUnderWay });
    record.seconds = record.blind = 0;
    this.agitating = null;
    this.pulsesBefore = record.pulses.length;
  }

  undo(record: VisitRecord): void {
    record.passes.pop();
    this.agitating = null;
    this.pulsesBefore = record.pulses.length;
  }

  /** Whether the water of a pass may be arriving now. */
  isDue(record: VisitRecord, path: TransitInput): boolean {
    const { litres, transit } = this.loop;
    const first = 0.5 * transit.pipeL(path);
    if (this.agitating && litres - this.agitating.startL > first) return true;
    const last = record.passes.at(-1);
    return last !== undefined && litres - last.startL > first && litres - last.endL < 1.5 * transit.throughL(path);
  }

  /** Seconds since the water of the last pass's end, or of the opening, reached the sensor: no dirt is due any more. */
  quietS(timeS: number, path: TransitInput, sincePassL: number): number {
    if (this.isUnderWay) return 0;
    const aheadL = this.loop.transit.pipeL(path) - sincePassL;
    return aheadL > 0 ? 0 : timeS - this.loop.timeAt(this.loop.litres + aheadL);
  }

  /** The pass that a new front answers, if it is the first front since that pass began: its litres, and whether it was told. */
  answeredBy(record: VisitRecord): Pick<Pass, 'startL' | 'isToldStart'> | null {
    if (record.pulses.length !== this.pulsesBefore + 1) return null;
    if (this.agitating) return { startL: this.agitating.startL, isToldStart: true };
    return record.passes.at(-1) ?? null;
  }

  /**
   * A front that no pass explains means that one is under way untold: its end is somewhere ahead, and then its water must
   * come, with `margin` for what is not known of the path.
   */
  isUntold(timeS: number, record: VisitRecord, path: TransitInput, margin: number): boolean {
    const pulse = record.pulses.at(-1);
    if (!pulse || pulse.marked) return false;
    const last = record.passes.at(-1);
    if (last && last.endS > pulse.onsetS) return false;
    const endS = pulse.onsetS + this.settings.untoldPassS;
    if (timeS < endS) return true;
    const { litres, transit } = this.loop;
    return litres - this.loop.litresAt(endS) < (transit.throughL(path) - transit.pipeL(path)) * margin;
  }
}
