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

const placeOf = (key: SampleKey): number => sampleKeys.indexOf(key);
/** Where each channel stands in a list that goes by `sampleKeys`. */
const place = {
  turbidityNtu: placeOf('turbidityNtu'),
  turbidityOutNtu: placeOf('turbidityOutNtu'),
  flowLpm: placeOf('flowLpm'),
  pressureBar: placeOf('pressureBar'),
  supplyC: placeOf('supplyC'),
  returnC: placeOf('returnC'),
  conductivityUsCm: placeOf('conductivityUsCm'),
} as const;

/** A sample of values in the order of `sampleKeys`, NaN where there is none. Made at one stroke: a long recording has millions. */
export function sampleOf(timeS: number, values: ArrayLike<number>): Sample {
  return {
    timeS,
    turbidityNtu: given(values[place.turbidityNtu]),
    turbidityOutNtu: given(values[place.turbidityOutNtu]),
    flowLpm: given(values[place.flowLpm]),
    pressureBar: given(values[place.pressureBar]),
    supplyC: given(values[place.supplyC]),
    returnC: given(values[place.returnC]),
    conductivityUsCm: given(values[place.conductivityUsCm]),
  };
}

function given(value: number | undefined): number | null {
  return value === undefined || Number.isNaN(value) ? null : value;
}

/** The values of a sample in the order of `sampleKeys`, NaN where there is none; into `out`, for this is done for every sample. */
export function valuesInto(sample: Sample, out: Float64Array): void {
  out[place.turbidityNtu] = sample.turbidityNtu ?? Number.NaN;
  out[place.turbidityOutNtu] = sample.turbidityOutNtu ?? Number.NaN;
  out[place.flowLpm] = sample.flowLpm ?? Number.NaN;
  out[place.pressureBar] = sample.pressureBar ?? Number.NaN;
  out[place.supplyC] = sample.supplyC ?? Number.NaN;
  out[place.returnC] = sample.returnC ?? Number.NaN;
  out[place.conductivityUsCm] = sample.conductivityUsCm ?? Number.NaN;
}

// A power costs more than all the rest of reading a cell.
const powersOfTen: readonly number[] = [1, 10, 100, 1e3, 1e4, 1e5, 1e6];

/** Round a value to the resolution of its channel, so that memory, store and CSV hold the very same number. */
export function roundToChannel(value: number, decimals: number): number {
  const f = powersOfTen[decimals] ?? 10 ** decimals;
  return Math.round(value * f) / f;
}
