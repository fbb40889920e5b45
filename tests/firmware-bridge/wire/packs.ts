import fc from 'fast-check';
import type { PackToSend } from '../../../firmware-bridge/wire/encode.ts';
import type { Hello } from '../../../firmware-bridge/wire/pack.ts';
import { channels } from '../../../src/core/quantity/channels.ts';
import { roundToChannel } from '../../../src/core/quantity/sample.ts';

export const kit = 'urn:dev:mac:0024befffe804ff1';

const values = fc.record(
  Object.fromEntries(
    channels.map((c) => [
      c.key,
      fc.double({ min: c.min, max: c.max, noNaN: true }).map((v) => roundToChannel(v, c.decimals) + 0),
    ]),
  ),
  { requiredKeys: [] },
);

const channelName = fc.constantFrom(...channels.map((c) => c.name));
const plainNumber = fc.integer({ min: -1e6, max: 1e6 }).map((n) => n / 1000 + 0);
const word = fc.string({ maxLength: 20, unit: 'grapheme' });

const hello: fc.Arbitrary<Hello> = fc.record({
  firmware: word,
  rateHz: fc.option(fc.integer({ min: 1, max: 1000 })),
  channels: fc.dictionary(
    channelName,
    fc.record({ lo: plainNumber, hi: plainNumber, step: plainNumber }, { requiredKeys: ['lo'] }),
    { maxKeys: 2 },
  ),
});

/** Any pack that a kit may send, values rounded as the boundary rounds them. */
export const anyPack: fc.Arbitrary<Required<Omit<PackToSend, 'kitClockS'>>> = fc.record({
  kit: fc.constantFrom(kit, 'urn:dev:ow:10e2073a01080063'),
  boot: fc.nat(),
  seq: fc.nat(),
  upS: fc.nat(1e9).map((ms) => ms / 1000),
  late: fc.boolean(),
  pass: fc.boolean(),
  values,
  raw: fc.dictionary(channelName, plainNumber, { maxKeys: 2 }),
  hello: fc.option(hello),
  refused: fc.option(word),
});
