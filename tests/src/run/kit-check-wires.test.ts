import { expect, test } from 'vitest';
import { noCounts } from '../../../firmware-bridge/wire/link-counters.ts';
import type { Pack, Reject } from '../../../firmware-bridge/wire/pack.ts';
import { sensorPoints } from '../../../src/run/kit-check-sensors.ts';
import { valuesPoint } from '../../../src/run/kit-check-wire.ts';
import { wiresPoint } from '../../../src/run/kit-check-wires.ts';
import { KitHeard } from '../../../src/run/kit-heard.ts';

/** A kit at rest, watched for 20 s at 10 Hz; `held` is what its channels read while the hand is asked for. */
function watched(at: Record<string, number>, held: Record<string, number>, hand: 'supply' | 'turbidity'): KitHeard {
  const kit = 'urn:dev:mac:1';
  const heard = new KitHeard(kit, noCounts());
  let seq = 0;
  const read = (v: Record<string, number>, seconds: number): void => {
    for (let i = 0; i < seconds * 10; i++) {
      const wobble = (name: string, size: number): number => (v[name] ?? 0) + (seq % 2 === 0 ? size : 0);
      const values = {
        turbidityNtu: wobble('ntu', 0.5),
        pressureBar: wobble('bar', 0.002),
        supplyC: wobble('supply', 0.06),
        returnC: wobble('back', 0.06),
      };
      const rest = { late: false, pass: false, raw: {}, hello: null, refused: null, rejects: [] };
      heard.take({ ok: true, pack: { kit, boot: 1, seq, upS: seq / 10, values, ...rest } }, seq / 10);
      seq += 1;
    }
  };
  read(at, 10);
  const over = heard.hand(hand);
  read({ ...at, ...held }, 5);
  over();
  read(at, 5);
  return heard;
}

/** A kit that sends these values, and records of other channels in a wrong unit. */
function sending(values: Pack['values'], rejects: readonly Reject[]): KitHeard {
  const kit = 'urn:dev:mac:1';
  const heard = new KitHeard(kit, noCounts());
  for (let seq = 0; seq < 50; seq++) {
    const rest = { late: false, pass: false, raw: {}, hello: null, refused: null, rejects };
    heard.take({ ok: true, pack: { kit, boot: 1, seq, upS: seq / 10, values, ...rest } }, seq / 10);
  }
  return heard;
}
const inUnit = (channel: string, found: string, expected: string): Reject => ({
  code: 'wire-unit',
  params: { channel, found, expected },
});

test('wires: what did not come is not said to behave', () => {
  const refused = [inUnit('flow', 'l/min', 'l/s'), inUnit('pressure', 'bar', 'Pa')];
  const some = wiresPoint(sending({ supplyC: 55, returnC: 45 }, refused));
  expect(some.state).toBe('not-seen');
  expect(some.text).toMatch(/Supply is warmer than return\. Pressure and turbidity do not both come/);
  const none = wiresPoint(sending({ turbidityNtu: 5, pressureBar: 1 }, []));
  expect(none.state).toBe('not-seen');
  expect(none.text).not.toMatch(/alike/);
  const all = wiresPoint(sending({ supplyC: 55, returnC: 45, turbidityNtu: 5, pressureBar: 1 }, []));
  expect(all).toMatchObject({ state: 'ok', text: expect.stringContaining('behave as such') });
});

test('each channel that is sent in a wrong unit is named, and is not said to be absent', () => {
  const refused = [inUnit('flow', 'l/min', 'l/s'), inUnit('pressure', 'bar', 'Pa')];
  const heard = sending({ supplyC: 55, returnC: 45 }, refused);
  const byId = new Map(sensorPoints(heard).map((p) => [p.id, p]));
  for (const name of ['flow', 'pressure']) {
    const point = byId.get(`channel-${name}`);
    expect(point?.state).toBe('fix');
    expect(point?.text).toMatch(new RegExp(`It is sent, but none of it was used\\. ${name} came in unit`));
    expect(`${point?.text}${point?.next}`).not.toMatch(/not sent|plug/);
  }
  const values = valuesPoint(heard, () => 100);
  expect(values.text).toMatch(/flow came in unit l\/min.*pressure came in unit bar/);
});

test('a reason that comes with ever new figures counts as one, and a bad line is no refused record', () => {
  const kit = 'urn:dev:mac:1';
  const heard = new KitHeard(kit, noCounts());
  for (let found = 0; found < 99; found++) {
    const reject = { code: 'wire-cut', params: { bytes: found, start: '[' } };
    heard.take({ ok: false, reject }, found);
  }
  expect(heard.worstLine).toMatch(/A line was cut \(98 characters/);
  expect(heard.refusedRecords).toEqual([]);
});

const still = { ntu: 6, bar: 1.2, supply: 19, back: 19 };

test.each([
  ['the supply thermometer is held and rises', 'supply', { supply: 24 }, 'ok', /supply thermometer, on the right wire/],
  [
    'the supply thermometer is held and the return one rises',
    'supply',
    { back: 24 },
    'fix',
    /are swapped|return one rose/,
  ],
  ['the window is covered and turbidity moves', 'turbidity', { ntu: 900 }, 'ok', /turbidity sensor, on the right wire/],
  ['the window is covered and pressure leaps', 'turbidity', { bar: 6 }, 'fix', /pressure leapt/],
  ['nobody touches anything', 'supply', {}, 'not-seen', /alike, and no hand was seen/],
] as const)('wires: when %s', (_what, hand, held, state, text) => {
  const point = wiresPoint(watched(still, held, hand));
  expect(point.state).toBe(state);
  expect(point.text).toMatch(text);
});

test('wires: a single leap is a loose plug, not a hand', () => {
  const heard = watched(still, {}, 'supply');
  heard.series.get('t-return')?.splice(120, 1, 60);
  expect(wiresPoint(heard).state).toBe('not-seen');
});
