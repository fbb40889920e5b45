import { describe, expect, it } from 'vitest';
import type { Pack } from '../../../firmware-bridge/wire/pack.ts';
import { Problem } from '../../../src/core/message/problem.ts';
import { type Measured, measure } from '../../../src/run/kit-measure.ts';
import { noiseFrom } from '../core/noise.ts';
import { quietLink } from './quiet-link.ts';
import { SteppedClock } from './stepped-clock.ts';

const kit = 'urn:dev:mac:0200000000000001';

/** Ten seconds at ten a second; `ntu` by the second. The sensor gives 0.62 V and a volt for 800 NTU. */
async function measured(
  ntu: (s: number) => number,
  { noiseNtu = 0.4, stepV = 1e-5, channel = 'turbidity', seed = 1 } = {},
): Promise<Measured | string> {
  const clock = new SteppedClock();
  const link = quietLink(clock);
  const noise = noiseFrom(seed);
  const end = measure(link, kit, channel, 10).catch((error: unknown) => {
    if (error instanceof Problem) return error.message;
    throw error;
  });
  for (let i = 0; i < 100; i++) {
    const value = ntu(i / 10) + noiseNtu * noise();
    const volts = stepV * Math.round((0.62 + value / 800) / stepV);
    const values = channel === 'turbidity' ? { turbidityNtu: 1000 * (volts - 0.5) } : { supplyC: value };
    const pack = packOf(i, values, channel === 'turbidity' ? { turbidity: volts } : {});
    link.watch.take({ ok: true, pack }, i / 10);
  }
  clock.run(11);
  return await end;
}

const packOf = (seq: number, values: Pack['values'], raw: Pack['raw']): Pack => ({
  kit,
  boot: 1,
  seq,
  upS: seq / 10,
  late: false,
  pass: false,
  values,
  raw,
  hello: null,
  refused: null,
  rejects: [],
});

const refused = expect.stringContaining('Wait until it stands still');

describe('a standard that has not settled', () => {
  it.each([
    ['a drift of 10 NTU on an offset of 0.62 V', (s: number) => s],
    ['clean water that still clears by 3 NTU', (s: number) => 3 * Math.exp(-s / 5)],
    ['a reading that falls after the standard was put on', (s: number) => 400 + 60 * Math.exp(-s / 3)],
  ])('is refused: %s', async (_name, ntu) => expect(await measured(ntu)).toEqual(refused));

  it('is refused on a coarse converter, too, from two steps on', async () => {
    expect(await measured((s) => 1.2 * s, { stepV: 0.00488, noiseNtu: 1 })).toEqual(refused);
  });

  it('is refused by its own unit where the kit sends no raw reading', async () => {
    const quiet = { channel: 't-supply', noiseNtu: 0.01 };
    expect(await measured((s) => 40 + 0.1 * s, quiet)).toEqual(refused);
    expect(await measured((s) => 0.005 * s, quiet)).toMatchObject({ input: 'kit' });
  });
});

describe('a standard that stands still', () => {
  it('is taken, whatever its noise draws', async () => {
    for (let seed = 1; seed <= 300; seed++)
      expect(await measured(() => 100, { noiseNtu: 2, seed })).toMatchObject({ input: 'raw' });
  });

  it('is taken between two steps of a coarse converter', async () => {
    expect(await measured(() => 1, { stepV: 0.00488, noiseNtu: 0.5 })).toMatchObject({ input: 'raw' });
  });
});
