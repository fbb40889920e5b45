import { againstLimit, type Uncertain } from '../quantity/interval.ts';
import { firstOf, given, type Outcome, outOfRange, refused } from '../quantity/refusal.ts';

/**
 * Temperature compensation of conductivity to 25 degrees Celsius by the linear rule of ISO 7888 / EN 27888 (its form
 * from memory, confirmed in two meter handbooks): k25 = kT / (1 + a (T - 25)).
 */
export interface CompensationSettings {
  /** Coefficient as a share per kelvin. Meter handbooks give 0.019 to 0.022 for water and dilute salts. */
  readonly alphaPerK: number;
  /** Its standard uncertainty: that span taken as rectangular; natural water is not potassium chloride. */
  readonly uAlphaPerK: number;
}

export const compensationSettings: CompensationSettings = { alphaPerK: 0.02, uAlphaPerK: 0.001 };

/** A reading at the water's own temperature, with standard uncertainties. */
export interface RawConductivity {
  readonly usCm: Uncertain;
  readonly celsius: Uncertain;
}

function check(raw: RawConductivity, s: CompensationSettings) {
  return firstOf(
    outOfRange('conductivity', raw.usCm.value, 0, 200000, 'µS/cm'),
    outOfRange('temperature of the sample', raw.celsius.value, 0, 100, '°C'),
    outOfRange('compensation coefficient', s.alphaPerK, 0, 0.035, 'per K'),
  );
}

const divisor = (celsius: number, s: CompensationSettings): number => 1 + s.alphaPerK * (celsius - 25);

/** Conductivity at 25 degrees Celsius, uS/cm, from 0 to 100 degrees; the coefficient's uncertainty is carried along. */
export function toReference(raw: RawConductivity, s: CompensationSettings = compensationSettings): Outcome<Uncertain> {
  const refusal = check(raw, s);
  if (refusal) return { ok: false, refusal };
  const d = divisor(raw.celsius.value, s);
  const value = raw.usCm.value / d;
  const u = Math.hypot(
    raw.usCm.u / d,
    (value / d) * (raw.celsius.value - 25) * s.uAlphaPerK,
    (value / d) * s.alphaPerK * raw.celsius.u,
  );
  return given({ value, u });
}

export interface MainsComparison {
  /** Sample over mains, both at 25 degrees. */
  readonly ratio: Uncertain;
  /** Share of the ratio's uncertainty squared that temperature compensation alone brings, 0..1. */
  readonly byCompensation: number;
  /** `undecided`: the limit lies inside the uncertainty; measure both at the same temperature. */
  readonly verdict: 'within' | 'over' | 'undecided';
}

/**
 * Is the sample within a share of the mains? One coefficient serves both readings, so its error cancels when both were
 * taken at the same temperature, and grows with the difference: 5 against 40 degrees can decide the question alone.
 *
 * @param share allowed excess over the mains; 0.1 is common practice, found in no public standard
 */
export function compareWithMains(
  sample: RawConductivity,
  mains: RawConductivity,
  share: number,
  s: CompensationSettings = compensationSettings,
): Outcome<MainsComparison> {
  const refusal = firstOf(check(sample, s), check(mains, s));
  if (refusal) return { ok: false, refusal };
  if (mains.usCm.value <= 0) return refused('mains-not-measured');
  const ds = divisor(sample.celsius.value, s);
  const dm = divisor(mains.celsius.value, s);
  const value = (sample.usCm.value * dm) / (mains.usCm.value * ds);
  const byAlpha = value * ((mains.celsius.value - 25) / dm - (sample.celsius.value - 25) / ds) * s.uAlphaPerK;
  const u = Math.hypot(
    (value * sample.usCm.u) / Math.max(sample.usCm.value, 1e-12),
    (value * mains.usCm.u) / mains.usCm.value,
    (value * s.alphaPerK * sample.celsius.u) / ds,
    (value * s.alphaPerK * mains.celsius.u) / dm,
    byAlpha,
  );
  const ratio = { value, u };
  const stands = againstLimit(ratio, 1 + share);
  return given({
    ratio,
    byCompensation: u > 0 ? (byAlpha / u) ** 2 : 0,
    verdict: stands === 'under' ? 'within' : stands,
  });
}
