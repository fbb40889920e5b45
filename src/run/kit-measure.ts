import { channelByName } from '../core/quantity/channels.ts';
import { Problem } from '../core/message/problem.ts';
import { usualU } from '../core/quantity/usual-u.ts';
import type { KitLink } from './kit-link.ts';

/** The mean of one channel over some seconds: raw where the kit sends it, else the kit's own value. */
export interface Measured {
  readonly input: 'raw' | 'kit';
  readonly mean: number;
  /** Standard deviation of single readings. */
  readonly sd: number;
  /** Standard uncertainty of the mean: scatter and one step of the converter (rectangular), joined. */
  readonly u: number;
  readonly count: number;
  /** Mean of the kit's own values, channel unit; null when it gave none. */
  readonly kitValue: number | null;
}

const fewest = 5;

/** Measures for `seconds`. Throws Problem: no readings, too few, or they moved meanwhile. */
export async function measure(link: KitLink, kit: string, name: string, seconds: number): Promise<Measured> {
  const channel = channelByName(name);
  const raw: number[] = [];
  const own: number[] = [];
  const stop = link.watch.listen((decoded) => {
    if (!decoded.ok || decoded.pack.kit !== kit || decoded.pack.late || !channel) return;
    const value = decoded.pack.values[channel.key];
    const rawValue = decoded.pack.raw[name];
    if (value !== undefined) own.push(value);
    if (rawValue !== undefined) raw.push(rawValue);
  });
  // Seconds of the kit's own life, so that a rehearsal gives as many readings.
  await link.sleep(seconds / link.clock.speed);
  stop();
  const usesRaw = raw.length >= fewest && name !== 'flow';
  const values = usesRaw ? raw : own;
  const title = channel?.title ?? name;
  if (values.length === 0) throw new Problem('kit-channel-silent', { channel: name });
  if (values.length < fewest) throw new Problem('kit-few', { channel: title, found: values.length, seconds });
  const result = { input: usesRaw ? ('raw' as const) : ('kit' as const), ...statistics(values) };
  refuseMoving(values, result.step, usesRaw ? null : (channel?.name ?? null), {
    channel: title,
    unit: usesRaw ? 'V or counts' : (channel?.unit ?? ''),
  });
  const { mean: middle, sd, u, input } = result;
  return { input, mean: middle, sd, u, count: values.length, kitValue: own.length > 0 ? mean(own) : null };
}

/**
 * A standard that has not settled yet. Its move, from the first third to the last, is judged by the scatter about its own
 * trend and by the converter's step, never by how high the reading stands: a raw one stands on an offset that says nothing.
 * A kit's own value may move by a third of what a standard is uncertain by anyway.
 *
 * @param channel of the kit's own values; null for raw readings, whose unit nobody knows yet.
 */
function refuseMoving(
  values: readonly number[],
  step: number,
  channel: string | null,
  told: { readonly channel: string; readonly unit: string },
): void {
  const third = Math.max(1, Math.floor(values.length / 3));
  const moved = Math.abs(mean(values.slice(-third)) - mean(values.slice(0, third)));
  const noise = scatterAboutTrend(values);
  // Six times the noise of a third is what noise alone does less than once in ten thousand; a step is no move yet, two are.
  const still = Math.max(
    noise,
    (6 * noise) / Math.sqrt(third),
    1.5 * step,
    channel === null ? 0 : usualU(channel, 0) / 3,
  );
  if (moved > still) throw new Problem('kit-moving', { ...told, moved: Number(moved.toPrecision(2)) });
}

function scatterAboutTrend(values: readonly number[]): number {
  const n = values.length;
  const middle = mean(values);
  const at = (n - 1) / 2;
  const slope = values.reduce((a, v, i) => a + (i - at) * (v - middle), 0) / ((n * (n * n - 1)) / 12);
  return Math.sqrt(values.reduce((a, v, i) => a + (v - middle - slope * (i - at)) ** 2, 0) / Math.max(1, n - 2));
}

/** Litres by the kit's own flow, integrated by its own clock, from call to `stop`. */
export function countLitres(link: KitLink, kit: string): () => { litres: number; seconds: number; readings: number } {
  let litres = 0;
  let seconds = 0;
  let readings = 0;
  let last: { upS: number; boot: number } | null = null;
  const stop = link.watch.listen((decoded) => {
    if (!decoded.ok || decoded.pack.kit !== kit || decoded.pack.late) return;
    const { upS, boot, values } = decoded.pack;
    const gap = last?.boot === boot ? upS - last.upS : 0;
    last = { upS, boot };
    if (values.flowLpm === undefined) return;
    readings += 1;
    // A pack's flow is the mean since the pack before it.
    if (gap > 0 && gap < 5) {
      litres += (values.flowLpm * gap) / 60;
      seconds += gap;
    }
  });
  return () => {
    stop();
    return { litres, seconds, readings };
  };
}

function mean(values: readonly number[]): number {
  return values.reduce((a, b) => a + b, 0) / Math.max(1, values.length);
}

function statistics(values: readonly number[]): { mean: number; sd: number; u: number; step: number } {
  const middle = mean(values);
  const sd = Math.sqrt(values.reduce((a, v) => a + (v - middle) ** 2, 0) / Math.max(1, values.length - 1));
  const levels = [...new Set(values)].toSorted((a, b) => a - b);
  let step = levels.length > 1 ? Number.POSITIVE_INFINITY : 0;
  for (let i = 1; i < levels.length; i++) step = Math.min(step, (levels[i] ?? 0) - (levels[i - 1] ?? 0));
  return { mean: middle, sd, u: Math.hypot(sd / Math.sqrt(values.length), step / Math.sqrt(12)), step };
}
