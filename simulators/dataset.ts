import type { RunContext } from '../src/core/job/context.ts';
import type { RunEvent } from '../src/core/job/event.ts';
import type { Sample } from '../src/core/quantity/sample.ts';
import { contextOf } from './circuit/context.ts';
import { Rig } from './circuit/rig.ts';
import { Engineer } from './engineer/engineer.ts';
import { Site } from './engineer/site.ts';
import { Random } from './random.ts';
import { families } from './scenarios/families.ts';
import { channelRanges } from './sensors/hello.ts';
import { Sampling } from './sensors/sampling.ts';
import { SensorSet } from './sensors/sensor-set.ts';
import { type TruthRow, truthRow, truthStepS } from './truth/log.ts';
import { type Truth, truthOf } from './truth/truth.ts';

export interface SimulatedRun {
  readonly context: RunContext;
  /** In the order of time, no time twice: what an analysis is fed. */
  readonly samples: Sample[];
  /** The same as a recording from elsewhere may hold it: doubled rows, and rows out of order after a restart. */
  readonly rows: readonly Sample[];
  readonly events: RunEvent[];
  readonly truth: Truth;
}

/** Longest step of the physics. */
const longestStepS = 0.1;
/** No run is longer. */
const longestRunS = 6 * 3600;

export const familyNames: readonly string[] = families.map((family) => family.name);

export interface RunLimits {
  /** Visit at most so many emitters. */
  readonly visits?: number;
}

/**
 * One whole run of a family, with its truth. The same family, seed and limits give the same run, bit for bit.
 * Throws a RangeError for an unknown family.
 */
export function simulateRun(familyName: string, seed: number, limits: RunLimits = {}): SimulatedRun {
  const family = families.find((f) => f.name === familyName);
  if (!family) throw new RangeError(`no family "${familyName}"; there is: ${familyNames.join(', ')}`);
  const random = new Random(`${familyName}/${seed}`);
  const drawn = family.draw(random.fork('scenario'));
  const plan = { ...drawn, order: drawn.order.slice(0, limits.visits) };
  const rig = new Rig(plan.house, random.fork('rig'));
  const sensors = new SensorSet(plan.sensors, random.fork('sensors'));
  const sampling = new Sampling(plan.sampling, random.fork('sampling'));
  const site = new Site(rig, sensors);
  site.spawn(new Engineer(site, plan, random.fork('engineer')).work());
  const rows: TruthRow[] = [];
  live(site, sampling, rows);
  const error = random.fork('estimates');
  const context = contextOf(
    plan.house,
    plan.sampling.hz,
    (x) => x * Math.exp(0.13 * Math.max(-2, Math.min(2, error.normal()))),
  );
  if (error.chance(0.5)) delete (context as { system?: unknown }).system;
  const kit = error.chance(0.5) ? { kit: { channels: channelRanges(plan.sensors) } } : {};
  return {
    context: { ...(error.chance(0.4) ? withoutPaths(context) : context), ...kit },
    samples: sampling.sorted(),
    rows: sampling.rows,
    events: site.events.sort((a, b) => a.timeS - b.timeS),
    truth: truthOf(familyName, seed, site, rows),
  };
}

function live(site: Site, sampling: Sampling, rows: TruthRow[]): void {
  const { rig } = site;
  let sampleS = sampling.wait();
  let truthS = 0;
  let lastRowS = 0;
  while (!site.over && rig.timeS < longestRunS) {
    const actS = site.act();
    const untilS = Math.min(actS, sampleS, truthS);
    const steps = Math.max(1, Math.ceil((untilS - rig.timeS) / longestStepS - 1e-9));
    const dtS = (untilS - rig.timeS) / steps;
    if (dtS > 0) for (let i = 0; i < steps; i += 1) rig.step(dtS);
    if (rig.timeS >= sampleS - 1e-9) {
      const before = sampling.rows.length;
      const sample = site.sensors.read(rig);
      sampling.take({ ...sample, timeS: Math.round(rig.timeS * 1000) / 1000 }, site.linkDown);
      if (sampling.rows.length > before) lastRowS = rig.timeS;
      sampleS = rig.timeS + sampling.wait();
    }
    if (rig.timeS >= truthS - 1e-9) {
      rows.push(truthRow(site, lastRowS));
      truthS = rig.timeS + truthStepS;
    }
  }
}

/** An engineer who measured no pipes leaves the mean to serve. */
function withoutPaths(context: RunContext): RunContext {
  return { ...context, emitters: context.emitters.map(({ id, name, volume_l }) => ({ id, name, volume_l })) };
}
