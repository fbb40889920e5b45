import type { Sample } from '../quantity/sample.ts';
import type { RunEvent } from './event.ts';
import { type Solids, SolidsMeter } from './solids.ts';

/** What of the chambers is known since they were last emptied, or since the emitters were begun. */
export interface ChamberDirt {
  readonly came: Solids;
  /** Share that they keep. */
  readonly keptShare: number;
  /** By the sensor behind them; else a guess. */
  readonly isMeasured: boolean;
}

/** Solids that went past the sensor while emitters were worked on. */
export interface CarriedDirt {
  readonly all: Solids | null;
  readonly byEmitter: Readonly<Record<string, Solids>>;
  readonly chamber: ChamberDirt | null;
}

export const noDirt: CarriedDirt = { all: null, byEmitter: {}, chamber: null };

/** Share of what comes that capture chambers keep, where no sensor behind them tells: a guess, no source. */
export const usualKeptShare = 0.8;
/** Turbid litres that must have passed both sensors before the share is taken as measured. */
const leastNtuL = 500;

/**
 * Books of the dirt, second by second: of the run, of each emitter, and of the chambers. Dirt still on its way when the
 * next emitter is opened counts for that one; after an emitter that is done there is little of it.
 */
export class DirtBook {
  private all: SolidsMeter | null = null;
  private chamber: SolidsMeter | null = null;
  private readonly own = new Map<string, SolidsMeter>();
  private open: string | null = null;
  private cameNtuL = 0;
  private wentNtuL = 0;

  /** One second of the emitters' stage, by its end; `excessNtu` over the background as the line has it. */
  second(
    second: Pick<Sample, 'timeS' | 'flowLpm' | 'turbidityNtu' | 'turbidityOutNtu'>,
    excessNtu: number | null,
  ): void {
    const { timeS: endS, flowLpm, turbidityNtu, turbidityOutNtu } = second;
    this.all ??= new SolidsMeter();
    this.chamber ??= new SolidsMeter();
    this.all.add(endS, excessNtu, flowLpm);
    this.chamber.add(endS, excessNtu, flowLpm);
    if (this.open !== null) this.meterOf(this.open).add(endS, excessNtu, flowLpm);
    if (turbidityNtu === null || turbidityOutNtu === null || flowLpm === null) return;
    this.cameNtuL += (Math.max(0, turbidityNtu) * flowLpm) / 60;
    this.wentNtuL += (Math.max(0, turbidityOutNtu) * flowLpm) / 60;
  }

  private meterOf(emitter: string): SolidsMeter {
    const known = this.own.get(emitter);
    if (known) return known;
    const meter = new SolidsMeter();
    this.own.set(emitter, meter);
    return meter;
  }

  event(event: RunEvent): void {
    if (event.event === 'emitter-open') {
      this.shut();
      this.open = event.emitter;
    } else if (event.event.startsWith('stage:') || (event.event === 'emitter-shut' && event.emitter === this.open))
      this.shut();
    else if (event.event === 'chamber-emptied') this.chamber = new SolidsMeter();
  }

  /** A meter that rests must not take the time until its next visit for time unseen. */
  private shut(): void {
    if (this.open !== null) this.own.get(this.open)?.rest();
    this.open = null;
  }

  result(): CarriedDirt {
    const isMeasured = this.cameNtuL >= leastNtuL;
    const keptShare = isMeasured ? Math.min(1, Math.max(0, 1 - this.wentNtuL / this.cameNtuL)) : usualKeptShare;
    return {
      all: this.all?.result() ?? null,
      byEmitter: Object.fromEntries([...this.own].map(([id, meter]) => [id, meter.result()])),
      chamber: this.chamber && { came: this.chamber.result(), keptShare, isMeasured },
    };
  }
}
