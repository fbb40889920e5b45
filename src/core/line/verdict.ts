/** What the tool says of the return line, and why. Types only: shared by core, server protocol, page and audit. */

export type VerdictState = 'idle' | 'watching' | 'carrying' | 'settling' | 'clear' | 'cannot-tell';

/**
 * Why a verdict is what it is, as data: `code` names one sentence in message/en.ts, `figures` fill it (units in their
 * names, e.g. `excessNtu`, `litresSincePassL`). The text is made at the edge.
 */
export interface Reason {
  readonly code: string;
  readonly figures: Readonly<Record<string, number>>;
}

/** Forecast of when the excess falls under the clear level, from the washout fit; run-clock seconds. */
export interface Forecast {
  readonly clearAtS: number;
  readonly fromS: number;
  readonly toS: number;
  /** Washout time constant and level it settles to, so that a chart can draw the curve. */
  readonly tauS: number;
  readonly settleNtu: number;
}

export interface Verdict {
  readonly state: VerdictState;
  /** Of the emitter: the last pass brought nothing above the limit of detection. Only ever with `clear`. */
  readonly done: boolean;
  readonly reason: Reason;
  /** When this verdict began, run-clock seconds. */
  readonly sinceS: number;
  /** Probability that the statement is right, by the tool's own model, 0..1; null where it makes no claim. */
  readonly confidence: number | null;
  readonly forecast: Forecast | null;
}

/** One rise and fall of return turbidity. `null` while not reached yet. */
export interface Pulse {
  readonly onsetS: number;
  /** When it was declared (causal). */
  readonly saidS: number;
  readonly peakS: number | null;
  readonly peakNtu: number | null;
  readonly endS: number | null;
  /** True when the engineer had marked a pass that this pulse answers. */
  readonly marked: boolean;
}

/** The live figures behind the verdict, for the chart and the sentence. NTU on the reading's own scale; litres by flow. */
export interface LineFigures {
  readonly backgroundNtu: number | null;
  readonly clearLevelNtu: number | null;
  /** Of the second just taken in, over the background, spikes left out; null where it cannot be used. */
  readonly excessNtu: number | null;
  readonly noiseNtu: number | null;
  readonly litresSincePassL: number | null;
  readonly litresNeededL: number | null;
}

export interface Visit {
  readonly emitter: string;
  /** Counts from 1 per emitter. */
  readonly visit: number;
  readonly fromS: number;
  readonly toS: number | null;
  readonly passesS: readonly number[];
  readonly pulses: readonly Pulse[];
  /** Every span in which the verdict shown was clear; `toS` null while it stands. */
  readonly clears: readonly { readonly fromS: number; readonly toS: number | null }[];
  readonly verdict: Verdict;
  readonly withheld: boolean;
}

/** Something other than a verdict that the engineer should know: hydraulic remark, kit remark. */
export interface Notice {
  /** When it was said, and from when on what it speaks of was so, run-clock seconds. */
  readonly atS: number;
  readonly fromS: number;
  readonly reason: Reason;
}
