import type { Channel, ChannelName } from '../../src/core/quantity/channels.ts';

/** Value in this unit -> value in the channel's own unit: times `factor`, plus `offset`. */
export interface UnitStep {
  readonly factor: number;
  readonly offset: number;
}

const times = (factor: number): UnitStep => ({ factor, offset: 0 });

const temperature: Readonly<Record<string, UnitStep>> = {
  degC: times(1),
  K: { factor: 1, offset: -273.15 },
  degF: { factor: 5 / 9, offset: (-32 * 5) / 9 },
};
/** FNU and FTU count the same suspension of formazin as NTU; their optics differ (ISO 7027-1). */
const turbidity: Readonly<Record<string, UnitStep>> = { FNU: times(1), FTU: times(1) };

/** Units beyond those of the wire. A pound-force per square inch is 6894.757293168 Pa, by definition of its parts. */
const more: Readonly<Record<ChannelName, Readonly<Record<string, UnitStep>>>> = {
  turbidity,
  'turbidity-out': turbidity,
  flow: { 'l/min': times(1), 'l/h': times(1 / 60), 'm3/h': times(1000 / 60) },
  pressure: {
    bar: times(1),
    mbar: times(0.001),
    hPa: times(0.001),
    kPa: times(0.01),
    psi: times(0.06894757293168),
  },
  't-supply': temperature,
  't-return': temperature,
  conductivity: { 'uS/cm': times(1), 'mS/cm': times(1000), 'mS/m': times(10) },
};

/** How to get from this unit to the channel's own; null when the channel cannot be told in it. */
export function unitStep(channel: Channel, unit: string): UnitStep | null {
  const own = more[channel.name];
  if (Object.hasOwn(own, unit)) return own[unit] ?? null;
  return Object.hasOwn(channel.senmlUnits, unit) ? times(channel.senmlUnits[unit] ?? Number.NaN) : null;
}

/** For people: every unit in which this channel may be told. */
export function unitNames(channel: Channel): string[] {
  return [...Object.keys(channel.senmlUnits), ...Object.keys(more[channel.name])];
}
