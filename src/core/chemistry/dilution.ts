import { over, times, type Uncertain } from '../quantity/interval.ts';
import { given, type Outcome, refused } from '../quantity/refusal.ts';

/**
 * System volume by the dilution of a known dose: a second measurement beside the fill. The product's own effect is
 * found in a jug: `jugMl` of it in a litre of the same water raise conductivity by `jugStep`. Conductivity is linear in
 * the share only while dilute, so the jug should be near the wanted strength. Mass balance, all at 25 degrees.
 *
 * @param systemStep rise of the mixed system, uS/cm at 25 degrees
 * @param leastSteps a step under so many of its own uncertainties is refused
 */
export function volumeByDilution(
  doseL: Uncertain,
  systemStep: Uncertain,
  jugMl: Uncertain,
  jugStep: Uncertain,
  leastSteps = 3,
): Outcome<Uncertain> {
  const steps = [
    ['system', systemStep],
    ['jug', jugStep],
  ] as const;
  for (const [where, step] of steps) {
    if (!(step.value > 0) || step.value < leastSteps * step.u)
      return refused('dilution-step-small', { where, step: step.value, u: step.u });
  }
  if (!(jugMl.value > 0 && doseL.value > 0)) return refused('dilution-no-dose');
  const whole = 1000 + jugMl.value;
  const jugShare = { value: jugMl.value / whole, u: (jugMl.u * 1000) / whole ** 2 };
  return given(over(doseL, times(over(systemStep, jugStep), jugShare)));
}
