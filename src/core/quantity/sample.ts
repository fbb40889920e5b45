import { channels, type SampleKey } from './channels.ts';

/**
 * One instant of a run: what one pack of the kit carried, in our units, on the run's own clock. A row of a recording.
 * `null` means that the kit sent no value (or none that could be believed); it is never a number in disguise.
 */
export type Sample = { readonly timeS: number } & { readonly [K in SampleKey]: number | null };

/** A sample with every channel missing; the base that readers fill in. */
export function emptySample(timeS: number): { timeS: number } & Record<SampleKey, number | null> {
  return {
    timeS,
    turbidityNtu: null,
    turbidityOutNtu: null,
    flowLpm: null,
    pressureBar: null,
    supplyC: null,
    returnC: null,
    conductivityUsCm: null,
  };
}

export const sampleKeys: readonly SampleKey[] = channels.map((c) => c.key);

// A power costs more than all the rest of reading a cell.
const powersOfTen: readonly number[] = [1, 10, 100, 1e3, 1e4, 1e5, 1e6];

/** Round a value to the resolution of its channel, so that memory, store and CSV hold the very same number. */
export function roundToChannel(value: number, decimals: number): number {
  const f = powersOfTen[decimals] ?? 10 ** decimals;
  return Math.round(value * f) / f;
}
