import { expect, test } from 'vitest';
import { noCounts } from '../../../firmware-bridge/wire/link-counters.ts';
import type { Pack } from '../../../firmware-bridge/wire/pack.ts';
import { KitLink } from '../../../src/run/kit-link.ts';
import { SteppedClock } from './stepped-clock.ts';

test('a command refused at the desk answers who asked for it, not the one who waits', async () => {
  const clock = new SteppedClock();
  const kit = 'urn:dev:mac:1';
  const link = new KitLink({
    source: 'a test',
    clock,
    counters: noCounts,
    problem: () => null,
    send: () => Promise.resolve(true),
  });
  const told: string[] = [];
  const hello = link.ask(kit, { kind: 'hello' }).then((end) => told.push(`hello ${end.problem?.code ?? 'answered'}`));
  const rate = link
    .ask(kit, { kind: 'rate', hz: 99 })
    .then((end) => told.push(`rate ${end.problem?.code ?? 'answered'}`));
  await rate;
  expect(told).toEqual(['rate command-rate']);
  link.watch.take({ ok: true, pack: packOf(kit) }, 1);
  await hello;
  expect(told).toEqual(['rate command-rate', 'hello answered']);
});

const packOf = (kit: string): Pack => ({
  kit,
  boot: 1,
  seq: 0,
  upS: 1,
  late: false,
  pass: false,
  values: {},
  raw: {},
  hello: { firmware: '1', rateHz: 10, channels: {} },
  refused: null,
  rejects: [],
});
