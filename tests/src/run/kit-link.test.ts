import { expect, test } from 'vitest';
import type { Pack } from '../../../firmware-bridge/wire/pack.ts';
import { quietLink } from './quiet-link.ts';
import { SteppedClock } from './stepped-clock.ts';

test('a command refused at the desk answers who asked for it, not the one who waits', async () => {
  const clock = new SteppedClock();
  const kit = 'urn:dev:mac:1';
  const link = quietLink(clock);
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

test('a kit that spoke before the bridge began is asked for its hello once, one that said it is not', async () => {
  const clock = new SteppedClock();
  const sent: string[] = [];
  const link = quietLink(clock, {
    send: (bytes, kit) => {
      sent.push(`${kit} ${new TextDecoder().decode(bytes)}`);
      return Promise.resolve(true);
    },
  });
  link.askWhoSpeaks();
  link.watch.take({ ok: true, pack: packOf('urn:dev:mac:told') }, 1);
  const mute = { ...packOf('urn:dev:mac:mute'), hello: null };
  link.watch.take({ ok: true, pack: { ...mute, late: true } }, 1);
  expect(sent).toEqual([]);
  for (let seq = 1; seq < 100; seq++) {
    link.watch.take({ ok: true, pack: { ...mute, seq, upS: seq } }, seq);
  }
  expect(sent).toEqual([expect.stringMatching(/^urn:dev:mac:mute \[\{"n":"do-hello","vb":true\}\]/)]);
  for (let n = 0; n < 200; n++) link.watch.take({ ok: true, pack: { ...mute, kit: `urn:dev:mac:${n}` } }, 100);
  expect(sent.length).toBeLessThan(100);
});

test('who waits for a kit where something else speaks is told what it said', async () => {
  const link = quietLink(new SteppedClock(), { source: '/dev/test' });
  link.watch.take({ ok: false, reject: { code: 'wire-cut', params: { bytes: 9, start: '[{"bn"' } } }, 1);
  await expect(link.kit(null, 0)).rejects.toThrow(/but something else\. A line was cut/);
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
