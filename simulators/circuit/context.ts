import type { RunContext } from '../../src/core/job/context.ts';
import type { HouseSpec } from './house.ts';

/** What an engineer would have written down of this house; `guess(x)` puts an estimate in place of the truth. */
export function contextOf(house: HouseSpec, sampleHz: number, guess: (trueL: number) => number = (x) => x): RunContext {
  const tidy = (x: number) => Math.round(guess(x) * 100) / 100;
  const count = house.emitters.length;
  const mean = (of: (e: HouseSpec['emitters'][number]) => number) =>
    house.emitters.reduce((sum, e) => sum + of(e), 0) / count;
  return {
    emitters: house.emitters.map((e) => ({
      id: e.id,
      name: e.name,
      volume_l: tidy(e.volumeL),
      path_l: tidy(e.returnL + house.returnL),
    })),
    loop_volume_l: tidy(
      house.supplyL + house.returnL + house.chamber.volumeL + mean((e) => e.supplyL + e.returnL + e.volumeL / 2),
    ),
    return_volume_l: tidy(house.returnL + mean((e) => e.returnL)),
    mains: {
      turbidity_ntu: Math.round(house.mains.turbidityNtu * 100) / 100,
      conductivity_us_cm: Math.round(house.mains.conductivityUsCm),
    },
    sample_hz: sampleHz,
    system: house.system,
  };
}
