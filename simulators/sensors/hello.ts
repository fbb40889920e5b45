import type { SensorSpec } from './sensor-set.ts';

type Ranges = Record<string, { lo?: number; hi?: number; step?: number }>;

/** What a kit with these sensors tells in its hello: range and step per channel, our units. */
export function channelRanges(spec: SensorSpec): Ranges {
  const out: Ranges = {
    turbidity: { lo: spec.turbidity.loNtu, hi: spec.turbidity.hiNtu, step: spec.turbidity.stepNtu },
    pressure: { lo: spec.pressure.lo, hi: spec.pressure.hi, step: spec.pressure.step },
    't-supply': { lo: spec.temperature.lo, hi: spec.temperature.hi, step: spec.temperature.step },
    't-return': { lo: spec.temperature.lo, hi: spec.temperature.hi, step: spec.temperature.step },
  };
  if (spec.flow) out['flow'] = { lo: spec.flow.lo, hi: spec.flow.hi, step: spec.flow.step };
  if (spec.conductivity) out['conductivity'] = { lo: 0, hi: spec.conductivity.hi, step: spec.conductivity.step };
  if (spec.turbidityOut) {
    const { loNtu, hiNtu, stepNtu } = spec.turbidityOut;
    out['turbidity-out'] = { lo: loNtu, hi: hiNtu, step: stepNtu };
  }
  return out;
}
