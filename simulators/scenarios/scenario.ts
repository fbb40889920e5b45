import type { HouseSpec } from '../circuit/house.ts';
import type { Habits } from '../engineer/habits.ts';
import type { Random } from '../random.ts';
import type { SamplingSpec } from '../sensors/sampling.ts';
import type { SensorSpec } from '../sensors/sensor-set.ts';
import type { Process, Site } from '../engineer/site.ts';

/** Something that goes wrong (or merely happens) beside the engineer's own plan. */
export interface Trouble {
  /** Begins with this visit of the run, counted from 1; 0: with the run; 'rinse': with the rinse. */
  readonly during: number | 'rinse';
  readonly happen: (site: Site, emitter: number) => Process;
}

export interface Scenario {
  readonly house: HouseSpec;
  readonly sensors: SensorSpec;
  readonly sampling: SamplingSpec;
  readonly habits: Habits;
  /** Emitters to visit, in order; an emitter may come twice. */
  readonly order: readonly number[];
  readonly troubles: readonly Trouble[];
  /** Length of the rinse; null: the run ends after the last visit. */
  readonly rinseS: number | null;
  readonly circulateS: number | null;
}

/** A family of runs: sizes are drawn anew for every seed. */
export interface Family {
  readonly name: string;
  /** What it is there to show. */
  readonly about: string;
  readonly draw: (random: Random) => Scenario;
}
