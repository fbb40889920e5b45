import { type ChannelName, channels } from '../core/quantity/channels.ts';
import { median, noiseSdByDifferences } from '../core/quantity/robust.ts';
import { type CheckPoint, fix, notSeen, ok, short } from './kit-check-points.ts';
import { wiresPoint } from './kit-check-wires.ts';
import type { KitHeard } from './kit-heard.ts';

/** The sensors behind the wire: ranges, noise, and plugs in the wrong place. */
export function sensorPoints(heard: KitHeard): CheckPoint[] {
  return [...channels.flatMap(({ name }) => channelPoints(name, heard)), wiresPoint(heard)];
}

/** More noise than this (share of the reading, and a floor in our unit) is not the water's. Common practice, no source. */
const mostNoise: Readonly<Record<ChannelName, readonly [share: number, floor: number]>> = {
  turbidity: [0.1, 5],
  'turbidity-out': [0.1, 5],
  flow: [0.1, 0.5],
  pressure: [0.05, 0.05],
  't-supply': [0, 0.3],
  't-return': [0, 0.3],
  conductivity: [0.05, 20],
};
/** Channels that a kit ought to have, and what is lost without them. */
const wanted: Readonly<Partial<Record<ChannelName, string>>> = {
  turbidity: 'No verdict can be given without it. Check the sensor and its plug.',
  flow: 'Without it litres are guessed from time. Check the meter and its plug, or fit one.',
};

const howSent = 'Names and units stand in the table of docs/wire.md, Channels.';

function channelPoints(name: ChannelName, heard: KitHeard): CheckPoint[] {
  const { series, hello } = heard;
  const channel = channels.find((c) => c.name === name);
  const values = series.get(name) ?? [];
  const title = channel?.title ?? name;
  const unit = channel?.unit ?? '';
  if (values.length === 0) {
    const refused = heard.refusedOf(name);
    if (refused !== null)
      return [fix(`channel-${name}`, title, `It is sent, but none of it was used. ${refused}`, howSent)];
    const lost = wanted[name];
    if (name === 'turbidity' && lost) return [fix(`channel-${name}`, title, 'It is not sent.', lost)];
    return lost || hello?.channels[name]
      ? [notSeen(`channel-${name}`, title, 'It is not sent now.', lost ?? 'Check the sensor and its plug.')]
      : [];
  }
  const middle = median(values);
  const noise = noiseSdByDifferences(values);
  const told = hello?.channels[name];
  const step = told?.step ?? 0;
  const figures = { median: middle, noise: Number.isFinite(noise) ? noise : 0, step };
  const out = values.filter(
    (v) => (told?.lo !== undefined && v < told.lo - step) || (told?.hi !== undefined && v > told.hi + step),
  );
  if (out.length > 0)
    return [
      fix(
        `channel-${name}`,
        title,
        `${out.length} readings lie outside the range that the hello tells (${told?.lo ?? '…'} to ${told?.hi ?? '…'} ${unit}).`,
        'Leave out what is over the range, and tell the true range.',
        figures,
      ),
    ];
  const [share, floor] = mostNoise[name];
  if (values.length >= 10 && noise > Math.max(share * Math.abs(middle), floor, 2 * step))
    return [
      fix(
        `channel-${name}`,
        title,
        `It scatters by ${short(noise)} ${unit} around ${short(middle)}.`,
        'In still water that is electrical noise: keep the cable from pump and mains leads, join the grounds, put 100 nF at the sensor; a loose plug does it too.',
        figures,
      ),
    ];
  const flat = values.length >= 30 && new Set(values).size === 1;
  if (flat && name === 'turbidity' && step === 0)
    return [
      notSeen(
        `channel-${name}`,
        title,
        `It stood at ${short(middle)} ${unit} to the last digit.`,
        'Move the sensor from water to air, or cover its window: it must move. Tell its step in the hello.',
      ),
    ];
  return [
    ok(
      `channel-${name}`,
      title,
      `${short(middle)} ${unit}, noise ${short(figures.noise)} ${unit}${step > 0 ? `, step ${short(step)} ${unit}` : ''}.`,
      figures,
    ),
  ];
}
