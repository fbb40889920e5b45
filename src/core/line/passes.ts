import { fallSpread, type TransitInput } from '../circuit/transit.ts';
import type { Loop } from './loop.ts';
import { isBurst } from './pulses.ts';
import type { Pass, VisitRecord } from './record.ts';
import type { LineSettings } from './settings.ts';

/**
 * The passes of one visit, told or not, and where their water is. Time and litres of each pass stand in the visit's record;
 * here is what follows from them and from the way between this emitter and the sensor. Made anew for each visit.
 */
export class Passes {
  readonly record: VisitRecord;
  readonly path: TransitInput;
  private agitating: { readonly startS: number; readonly startL: number } | null = null;
  /** Pulses that the visit had when the last pass was told. */
  private pulsesBefore = 0;
  /** A pass, and the litres after which its own fall showed its water to have gone by. */
  private shownBy: { readonly pass: Pass; readonly litres: number } | null = null;
  private readonly openL: number;
  private readonly settings: LineSettings;
  private readonly loop: Loop;

  constructor(settings: LineSettings, loop: Loop, record: VisitRecord, path: TransitInput) {
    this.settings = settings;
    this.loop = loop;
    this.record = record;
    this.path = path;
    this.openL = loop.litres;
  }

  /** Not all of the water since the last pass began came from the emitter that is worked on. */
  get isShared(): boolean {
    return this.loop.own.isSharedSince(this.record.passes.at(-1)?.startL ?? this.openL);
  }

  /** A pass was told to have begun, and not yet to have ended. */
  get isUnderWay(): boolean {
    return this.agitating !== null;
  }

  /** Litres since the last pass ended, or since the opening. */
  get sinceL(): number {
    return this.loop.litres - this.endL;
  }

  /** Litres after which the water of a pass has gone by, with a margin for what is not known of the way. */
  get neededL(): number {
    if (this.shownBy && this.shownBy.pass === this.record.passes.at(-1))
      return this.shownBy.litres * (1 + this.settings.pathSds * fallSpread);
    return this.loop.own.loopL(this.loop.transit.throughL(this.path) * this.margin, this.endL);
  }

  /** Litres of the loop at which the water of the last pass, or of the opening, has gone by on the mean. */
  get answeredL(): number {
    return this.endL + this.loop.own.loopL(this.loop.transit.throughL(this.path), this.endL);
  }

  /** Litres after which a pass that began untold would have shown its front. */
  get unseenL(): number {
    return this.neededL + (this.loop.transit.pipeL(this.path) * this.margin) / this.loop.own.share;
  }

  /** Litres of the loop at which the last water that a pass has set free comes by; while it is made, that of now. */
  get releasedL(): number {
    return (this.isUnderWay ? this.loop.litres : this.endL) + this.loop.transit.pipeL(this.path);
  }

  /** How many times the water of emitter and way was changed since the opening: once over, what stood in it has gone by. */
  get changes(): number {
    return (this.loop.litres - this.openL) / this.loop.transit.throughL(this.path);
  }

  private get endL(): number {
    return this.record.passes.at(-1)?.endL ?? this.openL;
  }

  private get margin(): number {
    return 1 + this.settings.pathSds * this.loop.transit.sdShare(this.path);
  }

  /** Without a flow sensor: the fall of the last pass's own pulse shows its litres better than anything reckoned before. */
  shown(litres: number): void {
    const pass = this.record.passes.at(-1);
    if (pass) this.shownBy = { pass, litres };
  }

  start(timeS: number): void {
    this.agitating = { startS: timeS, startL: this.loop.litres };
    this.pulsesBefore = this.record.pulses.length;
  }

  /** A pass whose beginning was not told is taken to have begun a usual pass before, never before the opening. */
  end(timeS: number): void {
    const { record } = this;
    const startS = this.agitating?.startS ?? Math.max(record.fromS, timeS - this.settings.passLengthS);
    const startL = this.agitating?.startL ?? this.loop.litresAt(startS);
    record.passes.push({ startS, endS: timeS, startL, endL: this.loop.litres, isToldStart: this.isUnderWay });
    record.seconds = record.blind = 0;
    this.agitating = null;
    this.pulsesBefore = record.pulses.length;
  }

  undo(): void {
    this.record.passes.pop();
    this.agitating = null;
    this.pulsesBefore = this.record.pulses.length;
  }

  /** Whether the water of a pass may be arriving now. */
  get isDue(): boolean {
    const { litres, transit } = this.loop;
    const first = 0.5 * transit.pipeL(this.path);
    if (this.agitating && litres - this.agitating.startL > first) return true;
    const last = this.record.passes.at(-1);
    return last !== undefined && litres - last.startL > first && litres - last.endL < 1.5 * transit.throughL(this.path);
  }

  /** Seconds since the water of the last pass's end, or of the opening, reached the sensor: no dirt is due any more. */
  quietS(timeS: number): number {
    const { releasedL } = this;
    return this.isUnderWay || releasedL > this.loop.litres ? 0 : timeS - this.loop.timeAt(releasedL);
  }

  /** The pass that a new front answers, if it is the first front since that pass began: its litres, and whether it was told. */
  get answered(): Pick<Pass, 'startL' | 'isToldStart'> | null {
    if (this.record.pulses.length !== this.pulsesBefore + 1) return null;
    if (this.agitating) return { startL: this.agitating.startL, isToldStart: true };
    return this.record.passes.at(-1) ?? null;
  }

  /** A front that no pass explains means that one is under way untold: its end is somewhere ahead, and then its water must come. */
  isUntold(timeS: number): boolean {
    const pulse = this.record.pulses.at(-1);
    if (!pulse || pulse.marked) return false;
    const last = this.record.passes.at(-1);
    if (last && last.endS > pulse.onsetS) return false;
    const { loop } = this;
    const endS = pulse.onsetS + this.settings.untoldPassS;
    const restL = (loop.transit.throughL(this.path) - loop.transit.pipeL(this.path)) * this.margin;
    const isComing = timeS < endS || loop.litres - loop.litresAt(endS) < restL;
    return isComing && !isBurst(pulse, loop);
  }
}
