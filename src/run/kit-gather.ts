import type { Bucket } from '../../firmware-bridge/calibration/bucket.ts';
import type { StandardRead } from '../../firmware-bridge/calibration/make.ts';
import { Problem } from '../core/message/problem.ts';
import type { KitLink } from './kit-link.ts';
import { countLitres, measure } from './kit-measure.ts';

export type { Bucket } from '../../firmware-bridge/calibration/bucket.ts';
export * from '../../firmware-bridge/calibration/given.ts';
export type { CurveKind, StandardRead } from '../../firmware-bridge/calibration/make.ts';

/** Reads one standard on the kit, now. Throws Problem as `measure` does. */
export async function readStandard(
  link: KitLink,
  kit: string,
  channel: string,
  standard: { value: number; u: number; what: string },
  seconds: number,
): Promise<StandardRead & { readonly input: 'raw' | 'kit'; readonly sdRaw: number }> {
  const { input, mean, sd, u, kitValue } = await measure(link, kit, channel, seconds);
  return { ...standard, input, raw: mean, uRaw: u, sdRaw: sd, kitValue };
}

/** Counts the kit's litres while `filling` lasts, then asks for the mass. Throws Problem when no flow was read. */
export async function readBucket(
  link: KitLink,
  kit: string,
  filling: () => Promise<void>,
  weigh: () => Promise<{ massKg: number; uMassKg: number; waterC: number }>,
): Promise<Bucket> {
  const stop = countLitres(link, kit);
  await filling();
  const { litres, seconds, readings } = stop();
  if (readings === 0) throw new Problem('kit-channel-silent', { channel: 'flow' });
  const { massKg, uMassKg, waterC } = await weigh();
  return { massKg, uMassKg, waterC, kitL: litres, kitLpm: seconds > 0 ? (litres / seconds) * 60 : 0 };
}
