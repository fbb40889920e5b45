import { channelByName } from '../../src/core/quantity/channels.ts';
import { usualU } from '../../src/core/quantity/usual-u.ts';
import { kitPattern } from '../wire/kit-name.ts';

// What a person types in, and why it cannot be; null: it can. Asked at the prompt already, so that a slip loses nothing.

export function kitFault(kit: string): string | null {
  if (kitPattern.test(kit)) return null;
  return `No kit can have the name "${kit}". Its name is urn:dev:..., for instance urn:dev:mac:0024befffe804ff1; limpid kit list shows it.`;
}

export function valueFault(name: string, value: number): string | null {
  const channel = channelByName(name);
  if (!channel) return null;
  // A reading may fall under zero by its noise or its zero; water may not.
  const min = channel.unit === 'NTU' ? 0 : channel.min;
  if (value >= min && value <= channel.max) return null;
  return `A standard of ${value} ${channel.unit} cannot be: ${channel.title.toLowerCase()} goes from ${min} to ${channel.max}. Check the value and its unit.`;
}

export function uFault(name: string, value: number, u: number): string | null {
  const unit = channelByName(name)?.unit ?? '';
  if (!Number.isFinite(u) || u < 0) return `The standard ${value} ${unit} needs an uncertainty of 0 or more; got ${u}.`;
  const most = mostU(name, value);
  if (u <= most) return null;
  return `An uncertainty of ${u} ${unit} leaves nothing of the standard ${value} ${unit}: it can be ${most} at most. Give one standard deviation, in ${unit}.`;
}

/**
 * No standard is more uncertain than it is large; the cleanest water is as uncertain as usual. The zero of a thermometer and
 * of a pressure gauge says nothing of size, so there it is what a single point may move them by. Common practice, no source.
 */
function mostU(name: string, value: number): number {
  if (name.startsWith('t-')) return 5;
  if (name === 'pressure') return 1;
  return Math.max(Math.abs(value), usualU(name, value));
}

/** Net mass on the scale, kg. */
export function massFault(massKg: number): string | null {
  return massKg > 0 ? null : `A bucket with ${massKg} kg cannot be used. Give the water alone, in kg.`;
}

export function scaleFault(massKg: number, uMassKg: number): string | null {
  if (uMassKg >= 0 && uMassKg <= massKg) return null;
  return `An uncertainty of ${uMassKg} kg for ${massKg} kg on the scale cannot be: it goes from 0 to the mass itself. Give one standard deviation, in kg.`;
}

export function waterFault(waterC: number): string | null {
  return waterC >= 0 && waterC <= 100
    ? null
    : `Water of ${waterC} °C cannot be weighed in a bucket: give its temperature from 0 to 100 °C.`;
}

export function bucketFault(bucket: {
  readonly massKg: number;
  readonly uMassKg: number;
  readonly waterC: number;
}): string | null {
  const { massKg, uMassKg, waterC } = bucket;
  return massFault(massKg) ?? scaleFault(massKg, uMassKg) ?? waterFault(waterC);
}
