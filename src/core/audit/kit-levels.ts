import { between } from '../quantity/in-time.ts';
import { median, noiseSdByDifferences } from '../quantity/robust.ts';
import type { Sample } from '../quantity/sample.ts';
import type { Span } from './finding.ts';
import { type Gathered } from './gather.ts';

/** Clean water is looked at for so long, s. */
const lookS = 60;
/** Fewer readings say nothing. */
const leastReadings = 20;
/** After the pump was told off the flow has stopped by then, s. */
const stillS = 10;

/**
 * What a kit reads where the truth is known: clean water at the end of a rinse that reached the mains' level, and flow
 * with the pump off. From run to run these should stand; where they wander, the kit does. Null: this run does not show it.
 */
export function kitLevels(run: Gathered): Readonly<Record<string, number | null>> {
  const clean = cleanWater(run);
  const ntu = valuesOf(clean, 'turbidityNtu');
  const usCm = valuesOf(clean, 'conductivityUsCm');
  const still = stillWater(run).flatMap(([fromS, toS]) => valuesOf(between(run.input.samples, fromS, toS), 'flowLpm'));
  const { mains } = run.driven.worked.tests;
  const mainsNtu = mains.turbidity?.value ?? run.driven.context.mains.turbidity_ntu;
  const mainsUsCm = mains.conductivity?.value ?? run.driven.context.mains.conductivity_us_cm;
  const enough = (values: readonly number[], make: () => number): number | null =>
    values.length < leastReadings ? null : make();
  return {
    kitNoiseNtu: enough(ntu, () => noiseSdByDifferences(ntu)),
    kitCleanNtu: enough(ntu, () => median(ntu) - mainsNtu),
    kitConductivityRatio: mainsUsCm > 0 ? enough(usCm, () => median(usCm) / mainsUsCm) : null,
    kitZeroLpm: enough(still, () => median(still)),
  };
}

function cleanWater(run: Gathered): readonly Sample[] {
  const { rinse } = run.driven;
  const stay = run.stays.findLast((s) => s.stage === 'rinse');
  if (!rinse || rinse.clearAtS === null || rinse.verdict.state !== 'clear' || !stay) return [];
  return between(run.input.samples, Math.max(rinse.clearAtS, stay.toS - lookS), stay.toS);
}

function stillWater(run: Gathered): Span[] {
  const spans: Span[] = [];
  let offS: number | null = null;
  for (const { event } of run.active) {
    if (event.event === 'rig-pump-off') offS = event.timeS;
    if (event.event !== 'rig-pump-on' || offS === null) continue;
    // A tap may come late: what flows again before the pump is told on is none of this.
    if (event.timeS - offS > 2 * stillS) spans.push([offS + stillS, event.timeS - stillS]);
    offS = null;
  }
  return spans;
}

function valuesOf(samples: readonly Sample[], key: 'turbidityNtu' | 'conductivityUsCm' | 'flowLpm'): number[] {
  return samples.flatMap((s) => (s[key] === null ? [] : [s[key]]));
}
