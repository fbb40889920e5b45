import { areApart, between, type Uncertain } from '../quantity/interval.ts';

export interface FillSettings {
  /** Flow meter's standard uncertainty as a share of its reading; 3 % is common for small turbines, from memory. */
  readonly meterShare: number;
  /** A stretch without readings longer than this is a gap, s. */
  readonly gapS: number;
}

export const fillSettings: FillSettings = { meterShare: 0.03, gapS: 2 };

export interface FilledLitres {
  readonly litres: Uncertain;
  /** Seconds without a reading of flow, and the most that may have run through in them, litres. */
  readonly gapS: number;
  readonly gapMostL: number;
}

/**
 * Litres by integrating the flow (trapezoids). In a gap the flow is unknown between nought and the larger of its ends:
 * half of that is counted and its whole width is uncertainty. The meter's error is common to all readings and does not
 * average out. Only water that passes the flow sensor is counted.
 */
export class FillMeter {
  private readonly settings: FillSettings;
  private litres = 0;
  private gaps = 0;
  private gapL = 0;
  private lastS = Number.NaN;
  private lastLpm = Number.NaN;

  constructor(settings: FillSettings = fillSettings) {
    this.settings = settings;
  }

  /** One reading; null or NaN: none came. Times that do not rise, and negative flows, are left out. */
  add(timeS: number, flowLpm: number | null): void {
    if (flowLpm === null || !(flowLpm >= 0) || !Number.isFinite(flowLpm) || timeS <= this.lastS) return;
    const step = timeS - this.lastS;
    if (step > this.settings.gapS) {
      this.gaps += step;
      this.gapL += (step / 60) * Math.max(flowLpm, this.lastLpm);
    } else if (step > 0) {
      this.litres += ((step / 60) * (flowLpm + this.lastLpm)) / 2;
    }
    this.lastS = timeS;
    this.lastLpm = flowLpm;
  }

  result(): FilledLitres {
    const inGap = between(0, this.gapL);
    const value = this.litres + inGap.value;
    return {
      litres: { value, u: Math.hypot(this.settings.meterShare * value, inGap.u) },
      gapS: this.gaps,
      gapMostL: this.gapL,
    };
  }
}

export interface FillComparison {
  readonly measured: Uncertain;
  readonly surveyed: Uncertain;
  /** Measured less surveyed, litres. */
  readonly difference: number;
  /** `agree`, or the measured volume is surely the larger (something not surveyed) or smaller (air left, valves shut). */
  readonly verdict: 'agree' | 'more-than-surveyed' | 'less-than-surveyed';
}

/** The fill against the survey, both with their uncertainties. Only a fill from empty measures the whole system. */
export function againstSurvey(measured: Uncertain, surveyed: Uncertain): FillComparison {
  const difference = measured.value - surveyed.value;
  const verdict = !areApart(measured, surveyed)
    ? 'agree'
    : difference > 0
      ? 'more-than-surveyed'
      : 'less-than-surveyed';
  return { measured, surveyed, difference, verdict };
}
