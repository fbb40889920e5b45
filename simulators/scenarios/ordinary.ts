import { drawHabits, type Habits } from '../engineer/habits.ts';
import type { Random } from '../random.ts';
import { evenSampling, type SamplingSpec } from '../sensors/sampling.ts';
import { drawHouse, type EmitterWish, type HouseWish } from './house-sizes.ts';
import type { Scenario, Trouble } from './scenario.ts';
import { drawSensors, type SensorWish } from './sensor-sizes.ts';

export interface ScenarioWish {
  readonly emitters?: readonly [number, number];
  readonly visits?: readonly [number, number];
  readonly emitter?: (random: Random, index: number) => EmitterWish;
  readonly house?: Partial<Omit<HouseWish, 'emitters' | 'wish'>>;
  readonly sensors?: SensorWish;
  readonly sampling?: Partial<SamplingSpec>;
  readonly habits?: Partial<Habits>;
  readonly troubles?: (random: Random, visits: number) => Trouble[];
  readonly rinseS?: readonly [number, number];
  readonly circulate?: boolean;
}

/** Any dirt from nearly clean to heavy. */
export function anyEmitter(random: Random): EmitterWish {
  return { peakNtu: random.chance(0.15) ? random.between(0, 8) : random.logBetween(10, 2500) };
}

/** An ordinary run with what a family changes. */
export function drawScenario(random: Random, wish: ScenarioWish = {}): Scenario {
  const count = random.whole(...(wish.emitters ?? [3, 10]));
  const wishes = Array.from({ length: count }, (_, i) => (wish.emitter ?? anyEmitter)(random.fork(`wish${i}`), i));
  const house = drawHouse(random.fork('house'), {
    ...wish.house,
    emitters: count,
    wish: (i) => wishes[i] ?? { peakNtu: 100 },
  });
  const visits = Math.min(count, random.whole(...(wish.visits ?? [3, 4])));
  const order = random.shuffled(house.emitters.map((_, i) => i)).slice(0, visits);
  // Now and then the first emitter is visited once more at the end.
  const first = order[0];
  if (first !== undefined && random.chance(0.15)) order.push(first);
  return {
    house,
    sensors: drawSensors(random.fork('sensors'), { secondTurbidity: random.chance(0.1), ...wish.sensors }),
    sampling: {
      ...evenSampling,
      hz: random.pick([2, 5, 10, 10]),
      jitter: random.between(0, 0.15),
      doubled: 0.001,
      missing: 0.001,
      ...wish.sampling,
    },
    habits: drawHabits(random.fork('habits'), wish.habits),
    order,
    troubles: wish.troubles?.(random.fork('troubles'), order.length) ?? [],
    rinseS: wish.rinseS ? random.between(...wish.rinseS) : random.chance(0.25) ? random.between(400, 900) : null,
    circulateS: wish.circulate || random.chance(0.15) ? random.between(120, 300) : null,
  };
}

/** The same kind of trouble in each visit with the given chance. */
export function inVisits(
  random: Random,
  visits: number,
  chance: number,
  make: (random: Random, visit: number) => Trouble['happen'],
): Trouble[] {
  const out: Trouble[] = [];
  for (let n = 1; n <= visits; n += 1)
    if (random.chance(chance)) out.push({ during: n, happen: make(random.fork(`trouble${n}`), n) });
  // At least one, or the family would show nothing.
  if (out.length === 0) {
    const n = random.whole(1, visits);
    out.push({ during: n, happen: make(random.fork('trouble'), n) });
  }
  return out;
}
