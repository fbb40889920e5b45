import fc from 'fast-check';
import { expect, test } from 'vitest';
import { Aligner } from '../../../firmware-bridge/clock/align.ts';

/** A kit whose clock is off by `drift`, heard over a link that holds packs up by `delay(i)` seconds. */
function hear(
  aligner: Aligner,
  options: {
    readonly packs: number;
    readonly drift?: number;
    readonly startS?: number;
    readonly boot?: number;
    readonly everyS?: number;
    readonly delay?: (i: number) => number;
  },
): { madeS: number; outS: number; arrivalS: number }[] {
  const { packs, drift = 0, startS = 1000, boot = 1, everyS = 0.1, delay = () => 0.02 } = options;
  let arrivedS = 0;
  return Array.from({ length: packs }, (_, i) => {
    const upS = i * everyS;
    const madeS = startS + upS * (1 + drift);
    arrivedS = Math.max(arrivedS, madeS + delay(i));
    return { madeS, outS: aligner.align(boot, upS, arrivedS), arrivalS: arrivedS };
  });
}

/** Greatest error, the least delay of the link (20 ms) taken off. */
function worst(out: readonly { madeS: number; outS: number }[]): number {
  return out.reduce((most, p) => Math.max(most, Math.abs(p.outS - p.madeS - 0.02)), 0);
}

/** Evenly spread, the same each time: 0..1. */
const spread = (i: number) => (i * 0.618033988749895) % 1;

test.each([200e-6, -200e-6, 0, 2e-3])(
  'a clock that drifts by %d is followed to a few milliseconds over three hours',
  (drift) => {
    const aligner = new Aligner();
    const out = hear(aligner, { packs: 108_000, drift, delay: (i) => 0.02 + 0.05 * spread(i) });
    const settled = out.slice(1200);
    for (const { madeS, outS } of settled) expect(Math.abs(outS - madeS - 0.02)).toBeLessThan(0.005);
    expect(Math.abs(aligner.drift - drift)).toBeLessThan(5e-6);
    expect(aligner.uncertaintyS).toBeLessThan(0.01);
  },
);

test('hold-ups of seconds, again and again, do not move the result', () => {
  const aligner = new Aligner();
  const delay = (i: number) => 0.02 + 0.01 * spread(i) + Math.max(0, 2 - (i % 70) / 10);
  const out = hear(aligner, { packs: 36_000, drift: 200e-6, delay });
  expect(worst(out.slice(1200))).toBeLessThan(0.01);
});

test('property: strictly increasing, and never later than the arrival that is strictly increasing too', () => {
  fc.assert(
    fc.property(
      fc.array(fc.double({ min: 0, max: 2, noNaN: true }), { minLength: 2, maxLength: 200 }),
      fc.double({ min: -0.001, max: 0.001, noNaN: true }),
      (delays, drift) => {
        const out = hear(new Aligner(), { packs: delays.length, drift, delay: (i) => delays[i] ?? 0 });
        for (const [i, { outS, arrivalS }] of out.entries()) {
          expect(outS).toBeGreaterThan(out[i - 1]?.outS ?? 0);
          expect(outS).toBeLessThanOrEqual(arrivalS + 1e-6 * (i + 1));
        }
      },
    ),
  );
});

test('a start of the kit, seen by boot or by up alone, begins anew and stays in order', () => {
  for (const boot of [1, 2]) {
    const aligner = new Aligner();
    const first = hear(aligner, { packs: 3000, drift: 200e-6 });
    const second = hear(aligner, { packs: 3000, drift: 200e-6, startS: 1400, boot });
    expect(second[0]?.outS).toBeGreaterThan(first[2999]?.outS ?? 0);
    expect(worst(second)).toBeLessThan(0.015);
  }
});

test.each([2 ** 32 / 1e6, 2 ** 32 / 1e3])('a counter that runs over at %d s goes on without a step', (wrapS) => {
  const aligner = new Aligner();
  for (let i = 0; i < 3000; i++) {
    const kitS = wrapS - 150 + i / 10;
    const madeS = 500 + i / 10;
    expect(Math.abs(aligner.align(1, kitS % wrapS, madeS + 0.02) - madeS - 0.02)).toBeLessThan(0.001);
  }
});

test('late packs stand where they were made, of this start and of the one before', () => {
  const aligner = new Aligner();
  hear(aligner, { packs: 1000, drift: 200e-6 });
  hear(aligner, { packs: 1000, drift: 200e-6, startS: 1200, boot: 2 });
  expect(Math.abs(aligner.align(2, 50.05, 1400, true) - 1250.05)).toBeLessThan(0.05);
  expect(Math.abs(aligner.align(1, 99.95, 1400, true) - 1099.95)).toBeLessThan(0.05);
  const next = aligner.align(2, 200, 1400.1);
  expect(Math.abs(next - 1400.04)).toBeLessThan(0.1);
  expect(aligner.align(9, 5, 1401, true)).toBeLessThan(next);
});

test('an overtaken pack gets its own place and teaches nothing', () => {
  const aligner = new Aligner();
  hear(aligner, { packs: 100 });
  aligner.align(1, 10.2, 1010.22);
  expect(aligner.align(1, 10.1, 1010.23)).toBeCloseTo(1010.12, 6);
  expect(aligner.align(1, 10.3, 1010.32)).toBeCloseTo(1010.32, 6);
});

test.each([
  ["the kit's clock leaps ahead", 30, 0],
  ["the kit's clock stands still for a while", 0, 30],
])('when %s, the result follows within the minute and stays in order', (_what, upLeapS, arrivalLeapS) => {
  const aligner = new Aligner();
  let lastS = hear(aligner, { packs: 3000 })[2999]?.outS ?? 0;
  for (let i = 3000; i < 3600; i++) {
    const outS = aligner.align(1, i / 10 + upLeapS, 1000.02 + i / 10 + arrivalLeapS);
    expect(outS).toBeGreaterThan(lastS);
    lastS = outS;
  }
  expect(Math.abs(lastS - (1000.02 + 359.9 + arrivalLeapS))).toBeLessThan(0.01);
});

test('a number gone wrong does not stop what follows', () => {
  const aligner = new Aligner();
  hear(aligner, { packs: 1000 });
  aligner.align(1, 8e8, 1100.12);
  for (let i = 1002; i < 1020; i++)
    expect(Math.abs(aligner.align(1, i / 10, 1000 + i / 10 + 0.02) - (1000 + i / 10 + 0.02))).toBeLessThan(0.1);
});

test('packs that were made after all that came, and kept, stand after it', () => {
  const aligner = new Aligner();
  hear(aligner, { packs: 1000 });
  for (const upS of [101, 120, 159.9]) expect(aligner.align(1, upS, 1161, true)).toBeCloseTo(1000.02 + upS, 6);
  expect(aligner.align(1, 160.9, 1160.92)).toBeCloseTo(1160.92, 6);
  expect([aligner.knows(1), aligner.knows(2)]).toEqual([true, false]);
});

test.each([45, 600])('what a broker kept for %d s and gives out at once stands where it was made', (awayS) => {
  const aligner = new Aligner();
  hear(aligner, { packs: 1000 });
  const last = 1000 + awayS * 10;
  for (let i = 1000; i < last; i++) {
    const errorS = aligner.align(1, i / 10, 1100 + awayS + i / 1e5) - (1000.02 + i / 10);
    // The last of them were hardly delayed: they may be what a drift looks like, for as long as nothing else came.
    expect(Math.abs(errorS)).toBeLessThan(i < last - 10 ? 0.001 : 0.26);
  }
  for (let i = last + 10; i < last + 20; i++)
    expect(aligner.align(1, i / 10, 1000.02 + i / 10)).toBeCloseTo(1000.02 + i / 10, 3);
});
