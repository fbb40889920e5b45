import type { ChannelName } from '../core/quantity/channels.ts';
import { median, noiseSdByDifferences } from '../core/quantity/robust.ts';
import { type CheckPoint, fix, notSeen, ok, short } from './kit-check-points.ts';
import type { Hand, KitHeard } from './kit-heard.ts';

const title = 'Wires';

/**
 * Plugs in the wrong place. Who touches a sensor sees which wire it is on: that is certain. Without a hand, standing
 * readings tell only the swaps that physics forbids.
 */
export function wiresPoint(heard: KitHeard): CheckPoint {
  const swapped = swappedByHand(heard);
  if (swapped) return swapped;
  const standing = byStanding(heard.series);
  if (standing.state === 'fix') return standing;
  const felt = (['supply', 'turbidity'] as const).filter((hand) => moved(heard, hand, sensorOf[hand][0]));
  const names = { supply: 'the supply thermometer', turbidity: 'the turbidity sensor' };
  if (felt.length === 0) return standing;
  const said = `Your hand was seen at ${felt.map((hand) => names[hand]).join(' and at ')}, on the right wire.`;
  return ok('wires', title, felt.length === 2 || standing.state === 'ok' ? said : `${said} ${standing.text}`);
}

/** The channel that a hand is meant to move, and the one that moves when the two plugs are swapped. */
const sensorOf: Readonly<Record<Hand, readonly [own: ChannelName, other: ChannelName]>> = {
  supply: ['t-supply', 't-return'],
  turbidity: ['turbidity', 'pressure'],
};
/** What no standing water does in ten seconds, in the channel's unit: °C, NTU, bar. */
const leastMove: Readonly<Partial<Record<ChannelName, number>>> = {
  't-supply': 0.8,
  't-return': 0.8,
  turbidity: 10,
  pressure: 0.3,
};

/** Did this channel leave its level while the hand was asked for? */
function moved(heard: KitHeard, hand: Hand, name: ChannelName): boolean {
  const values = heard.series.get(name) ?? [];
  const from = heard.handFrom(hand, name);
  const to = heard.handTo(hand, name);
  const before = values.slice(0, from);
  const during = values.slice(from, to);
  if (before.length < 5 || during.length < 5) return false;
  const level = median(before);
  const spread = Math.max(leastMove[name] ?? 0, 10 * noiseSdByDifferences(before));
  // A few readings, not one: a single leap is a loose plug.
  const far = during.filter((v) => Math.abs(v - level) > spread).length;
  return far >= 3;
}

function swappedByHand(heard: KitHeard): CheckPoint | null {
  if (moved(heard, 'supply', 't-return') && !moved(heard, 'supply', 't-supply'))
    return fix(
      'wires',
      title,
      'You held the supply thermometer, and the return one rose.',
      'The two thermometers are swapped: change their plugs, or their places on the pipes.',
    );
  if (moved(heard, 'turbidity', 'pressure') && !moved(heard, 'turbidity', 'turbidity'))
    return fix(
      'wires',
      title,
      'You covered the window of the turbidity sensor, and pressure leapt.',
      'The plugs of pressure and turbidity are swapped: change them.',
    );
  return null;
}

/** Plugs that look swapped, as far as standing readings can tell. */
function byStanding(series: KitHeard['series']): CheckPoint {
  const mid = (name: ChannelName): number => median(series.get(name) ?? []);
  const [supply, back] = [mid('t-supply'), mid('t-return')];
  if (supply < back - 3)
    return fix(
      'wires',
      title,
      `The supply (${short(supply)} °C) is colder than the return (${short(back)} °C).`,
      'With the heat on, the two thermometers are swapped: change their plugs, or their places on the pipes. With the heat off, check again when it is on.',
      { supplyC: supply, returnC: back },
    );
  const [pressure, turbidity, flow] = [mid('pressure'), mid('turbidity'), mid('flow')];
  if (pressure < -0.2)
    return fix(
      'wires',
      title,
      `Pressure reads ${short(pressure)} bar, below that of the air.`,
      'Is a pressure sensor on that pin, with its supply and ground the right way round? A turbidity sensor there reads so.',
      { pressureBar: pressure },
    );
  const ntu = series.get('turbidity') ?? [];
  if (pressure < 0.05 && flow > 1 && turbidity > 100 && noiseSdByDifferences(ntu) < 0.003 * turbidity)
    return fix(
      'wires',
      title,
      `Water flows at no pressure, and turbidity stands at ${short(turbidity)} NTU without a flicker.`,
      'That is how it looks when the plugs of pressure and turbidity are swapped. Change them, and check again.',
      { pressureBar: pressure, turbidityNtu: turbidity },
    );
  if (!Number.isFinite(supply) || !Number.isFinite(back))
    return notSeen(
      'wires',
      title,
      'Supply and return temperature do not both come, so nothing tells whether their plugs are swapped.',
      'Check again when both are sent.',
    );
  if (Math.abs(supply - back) <= 3)
    return notSeen(
      'wires',
      title,
      'Nothing looks swapped, but supply and return are alike, and no hand was seen.',
      'Check again for 60 s, and do what it asks for: hold the supply thermometer, cover the window of the turbidity sensor. The one that moves is the one on that wire.',
    );
  if (!Number.isFinite(pressure) || !Number.isFinite(turbidity))
    return notSeen(
      'wires',
      title,
      'Supply is warmer than return. Pressure and turbidity do not both come, so nothing tells whether their plugs are swapped.',
      'Check again when both are sent.',
    );
  return ok('wires', title, 'Supply is warmer than return, pressure and turbidity behave as such.');
}
