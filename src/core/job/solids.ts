import { coverage, type Uncertain } from '../quantity/interval.ts';

/**
 * Milligrams of solids in a litre for one NTU: 1 to 2 as a rule of thumb, from memory. Suspended solids are no function
 * of turbidity in general, and dark oxide scatters differently from clay, so the uncertainty is as large as that and
 * every figure made with it is an estimate. A factor found by weighing this system's own sludge replaces it.
 */
export const mgPerNtuL: Uncertain = { value: 1.5, u: 0.75 };

export interface Solids {
  /** Always an estimate. */
  readonly grams: Uncertain;
  readonly litres: number;
  /** Seconds without a usable pair of readings: nothing is counted for them, so the figure is a lower one. */
  readonly unseenS: number;
}

/** Solids carried past the sensor: integral of excess turbidity times flow (trapezoids), times the factor. */
export class SolidsMeter {
  private readonly factor: Uncertain;
  private readonly gapS: number;
  private ntuLitres = 0;
  private litres = 0;
  private unseenS = 0;
  private lastS: number | null = null;
  private lastExcess: number | null = null;
  private lastLpm: number | null = null;

  constructor(factor: Uncertain = mgPerNtuL, gapS = 5) {
    this.factor = factor;
    this.gapS = gapS;
  }

  /** One instant; excess below nought is noise around a clean line and counts as such. Null: not usable. */
  add(timeS: number, excessNtu: number | null, flowLpm: number | null): void {
    if (this.lastS !== null && timeS <= this.lastS) return;
    if (this.lastS !== null) {
      const step = timeS - this.lastS;
      if (
        step > this.gapS ||
        excessNtu === null ||
        flowLpm === null ||
        this.lastExcess === null ||
        this.lastLpm === null
      ) {
        this.unseenS += step;
      } else {
        this.ntuLitres += ((step / 60) * (excessNtu * flowLpm + this.lastExcess * this.lastLpm)) / 2;
        this.litres += ((step / 60) * (flowLpm + this.lastLpm)) / 2;
      }
    }
    this.lastS = timeS;
    this.lastExcess = excessNtu;
    this.lastLpm = flowLpm;
  }

  result(): Solids {
    const carried = Math.max(0, this.ntuLitres) / 1000;
    return {
      grams: { value: carried * this.factor.value, u: carried * this.factor.u },
      litres: this.litres,
      unseenS: this.unseenS,
    };
  }
}

export interface ChamberLoad {
  readonly grams: Uncertain;
  /** Share of what the chambers hold, 0 empty; null when the capacity is not known. */
  readonly load: Uncertain | null;
  /** `soon`: from four fifths on, our choice; `now`: full by the estimate, or its upper end well past. */
  readonly empty: 'no' | 'soon' | 'now' | 'capacity-unknown';
}

/**
 * Loading of the capture chambers since they were emptied: solids that came, times the share they keep. By this
 * estimate alone nobody opens a chamber: a fall of flow with a rising background is the surer sign.
 */
export function chamberLoad(cameG: Uncertain, keptShare: number, capacityG: number | null): ChamberLoad {
  const grams = { value: cameG.value * keptShare, u: cameG.u * keptShare };
  if (capacityG === null || !(capacityG > 0)) return { grams, load: null, empty: 'capacity-unknown' };
  const load = { value: grams.value / capacityG, u: grams.u / capacityG };
  const upper = load.value + coverage * load.u;
  const empty = load.value >= 1 || upper >= 2 ? 'now' : load.value >= 0.8 || upper >= 1.6 ? 'soon' : 'no';
  return { grams, load, empty };
}
