import type { Sample } from '../quantity/sample.ts';
import type { RunEvent } from './event.ts';
import type { Uncertain } from '../quantity/interval.ts';
import { type Solids, SolidsMeter } from './solids.ts';

/** What of the chambers is known since they were last emptied, or since the emitters were begun. */
export interface ChamberDirt {
  readonly came: Solids;
  /** Share that they keep. */
  readonly keptShare: number;
  /** By the sensor behind them; else a guess. */
  readonly isMeasured: boolean;
}

/** What one visit of an emitter carried past the sensor. */
export interface VisitDirt {
  readonly emitter: string;
  /** When it was opened. */
  readonly fromS: number;
  readonly solids: Solids;
}

/** Solids that went past the sensor while emitters were worked on. */
export interface CarriedDirt {
  readonly all: Solids | null;
  readonly visits: readonly VisitDirt[];
  readonly chamber: ChamberDirt | null;
}

export const noDirt: CarriedDirt = { all: null, visits: [], chamber: null };

/** What all visits of an emitter carried; null before any. */
export function gramsOf(dirt: CarriedDirt, emitter: string): Uncertain | null {
  const own = dirt.visits.filter((v) => v.emitter === emitter).map((v) => v.solids.grams);
  if (own.length === 0) return null;
  // The factor is one and the same for all, so the uncertainties add up as they are.
  return { value: own.reduce((s, g) => s + g.value, 0), u: own.reduce((s, g) => s + g.u, 0) };
}

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
  private readonly visits: { readonly emitter: string; readonly fromS: number; readonly meter: SolidsMeter }[] = [];
  private open: SolidsMeter | null = null;
  private openEmitter = '';
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
    this.open?.add(endS, excessNtu, flowLpm);
    if (turbidityNtu === null || turbidityOutNtu === null || flowLpm === null) return;
    this.cameNtuL += (Math.max(0, turbidityNtu) * flowLpm) / 60;
    this.wentNtuL += (Math.max(0, turbidityOutNtu) * flowLpm) / 60;
  }

  /** Whether an emitter is open: its dirt counts, whatever stage was told. */
  get isOpen(): boolean {
    return this.open !== null;
  }

  event(event: RunEvent): void {
    if (event.event === 'emitter-open') {
      this.open = new SolidsMeter();
      this.openEmitter = event.emitter;
      this.visits.push({ emitter: event.emitter, fromS: event.timeS, meter: this.open });
    } else if (
      event.event.startsWith('stage:') ||
      (event.event === 'emitter-shut' && event.emitter === this.openEmitter)
    )
      this.open = null;
    else if (event.event === 'chamber-emptied') this.chamber = new SolidsMeter();
  }

  result(): CarriedDirt {
    const isMeasured = this.cameNtuL >= leastNtuL;
    const keptShare = isMeasured ? Math.min(1, Math.max(0, 1 - this.wentNtuL / this.cameNtuL)) : usualKeptShare;
    return {
      all: this.all?.result() ?? null,
      visits: this.visits.map(({ emitter, fromS, meter }) => ({ emitter, fromS, solids: meter.result() })),
      chamber: this.chamber && { came: this.chamber.result(), keptShare, isMeasured },
    };
  }
}
