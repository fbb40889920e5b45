import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { fitBuckets } from '../../../firmware-bridge/calibration/bucket.ts';
import { calibrate, limitOfDetection, standing } from '../../../firmware-bridge/calibration/certificate.ts';
import { FitError } from '../../../firmware-bridge/calibration/fit.ts';
import {
  certificateOf,
  flowCertificateOf,
  type Occasion,
  type StandardRead,
} from '../../../firmware-bridge/calibration/make.ts';

const occasion: Occasion = {
  kit: 'urn:dev:ow:281e8316000000e2',
  channel: 'turbidity',
  input: 'raw',
  who: 'A. Bench',
  madeAt: '2026-03-01T10:00:00.000Z',
  dueAt: '2026-05-30T10:00:00.000Z',
  number: 1,
  kitStep: 4.883,
  kitHi: 4300,
  atC: 20,
};
const read = (value: number, u: number, raw: number, more: Partial<StandardRead> = {}): StandardRead => ({
  value,
  u,
  raw,
  uRaw: 0.0003,
  sdRaw: 0.002,
  kitValue: (raw - 0.5) * 1000,
  what: '',
  ...more,
});
/** The worked example of docs/calibration.md; the numbers there are recomputed here. */
const example = [read(0.2, 0.1, 0.6205), read(20, 0.6, 0.6444), read(100, 2, 0.7449), read(400, 8, 1.1183)];

describe('the worked example of docs/calibration.md', () => {
  const c = certificateOf(occasion, 'line', example);
  const document = readFileSync('docs/calibration.md', 'utf8');
  const says = (text: string): void => expect(document).toContain(text);

  it('has the curve, the residuals and the uncertainty that the document states', () => {
    if (c.curve.kind !== 'line') throw new Error('a line was asked for');
    const [aa, ab, bb] = c.curve.covariance;
    says(`value = ${c.curve.a.toFixed(1).replace('-', '−')} + ${c.curve.b.toFixed(1)} × volts`);
    says(`u(a) = ${Math.sqrt(aa).toFixed(2)} NTU, u(b) = ${Math.sqrt(bb).toFixed(2)} NTU/V`);
    says(`r(a,b) = ${(ab / Math.sqrt(aa * bb)).toFixed(4).replace('-', '−')}`);
    for (const residual of c.residuals) says(`| ${residual.toFixed(2).replace('-', '−')} |`);
    says(`u(50 NTU) = ${calibrate(c, (50 - c.curve.a) / c.curve.b).u.toFixed(2)} NTU`);
  });

  it('has the noise, the step and the limit of detection that the document states', () => {
    says(`noise floor = ${(c.blankSd ?? Number.NaN).toFixed(2)} NTU`);
    says(`step = ${(c.step ?? Number.NaN).toFixed(2)} NTU`);
    says(`= ${limitOfDetection(c)?.toFixed(1)} NTU`);
  });

  it('has the bucket that the document states', () => {
    const fit = fitBuckets([
      { massKg: 10.02, uMassKg: 0.01, waterC: 18, kitL: 10.41, kitLpm: 9.8 },
      { massKg: 10.35, uMassKg: 0.01, waterC: 18, kitL: 10.74, kitLpm: 9.7 },
    ]);
    if (fit.curve.kind !== 'line') throw new Error('a factor was asked for');
    says(`factor = ${fit.curve.b.toFixed(4)}`);
    says(`u(factor) = ${Math.sqrt(fit.curve.covariance[2]).toFixed(4)}`);
    // The kit's setting is a whole number.
    says(`450 / ${fit.curve.b.toFixed(4)} = ${(450 / fit.curve.b).toFixed(0)}`);
  });
});

describe('a certificate', () => {
  it('finds again the line that the standards were made from, whatever it is', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 50, max: 5000, noNaN: true }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        (b, zero) => {
          const standards = [0, 10, 100, 800].map((v) =>
            read(v, 0.1 + 0.01 * v, zero + v / b, { sdRaw: 1e-6, uRaw: 1e-7 }),
          );
          const c = certificateOf(occasion, 'line', standards);
          for (const s of standards) expect(calibrate(c, s.raw).value).toBeCloseTo(s.value, 6);
          // One step and the top of the converter, carried over from the kit's own line of 1000 NTU a volt.
          expect(c.step).toBeCloseTo((4.883 / 1000) * b, 6);
          expect(c.hi).toBeCloseTo((4.8 - zero) * b, 4);
        },
      ),
      { numRuns: 200 },
    );
  });

  it('holds until its date', () => {
    const c = certificateOf(occasion, 'line', example);
    expect(standing(c, '2026-05-30T09:59:59.000Z')).toBe('valid');
    expect(standing(c, '2026-05-30T10:00:01.000Z')).toBe('overdue');
  });

  it.each<[string, () => unknown, string]>([
    ['one standard', () => certificateOf(occasion, 'shift', [read(0, 0.1, 0.5)]), 'One standard is not enough'],
    ['equal standards', () => certificateOf(occasion, 'line', [read(5, 0.1, 0.5), read(5, 0.1, 0.6)]), 'same value'],
    [
      'a dead sensor',
      () => certificateOf(occasion, 'line', [read(0, 0.1, 0.5), read(100, 1, 0.502)]),
      'does not answer',
    ],
    [
      'standards mixed up',
      () => certificateOf(occasion, 'line', [read(0, 0.1, 0.6), read(100, 2, 1.1), read(400, 8, 0.75)]),
      'less of the standard 400 NTU than of the standard 100 NTU',
    ],
    ['an absurd value', () => certificateOf(occasion, 'line', [read(-400, 1, 0.5), read(10, 1, 1)]), 'cannot be'],
    ['nobody', () => certificateOf({ ...occasion, who: ' ' }, 'line', example), 'carries a name'],
    ['a date gone by', () => certificateOf({ ...occasion, dueAt: '2026-02-01' }, 'line', example), 'not after today'],
    ['a kit that cannot be', () => certificateOf({ ...occasion, kit: 'foo' }, 'line', example), 'No kit can have'],
    ['water under 0', () => certificateOf(occasion, 'line', [read(-1, 0.1, 0.5), read(10, 1, 1)]), 'from 0 to'],
    [
      'more uncertainty than value',
      () => certificateOf(occasion, 'line', [read(10, 11, 0.5), read(100, 1, 1)]),
      'leaves nothing of the standard 10 NTU',
    ],
    [
      'readings beyond all numbers',
      () => certificateOf(occasion, 'line', [read(0, 0.1, -1e308), read(9, 1, 1e308)]),
      'makes no certificate',
    ],
    ['steam', () => fitBuckets([{ massKg: 10, uMassKg: 0.02, waterC: 180, kitL: 10, kitLpm: 9 }]), '0 to 100 °C'],
    [
      'u under 0',
      () => fitBuckets([{ massKg: 10, uMassKg: -1, waterC: 15, kitL: 10, kitLpm: 9 }]),
      'from 0 to the mass',
    ],
    ['no flow', () => fitBuckets([{ massKg: 10, uMassKg: 0.02, waterC: 15, kitL: 10, kitLpm: 0 }]), 'above zero'],
    ['no bucket', () => fitBuckets([]), 'No bucket'],
    [
      'kilograms for grams',
      () => fitBuckets([{ massKg: 10020, uMassKg: 1, waterC: 18, kitL: 10, kitLpm: 10 }]),
      'no calibration but a mistake',
    ],
    [
      'a bucket that ran over',
      () =>
        fitBuckets([
          { massKg: 10, uMassKg: 0.01, waterC: 18, kitL: 10, kitLpm: 10 },
          { massKg: 7, uMassKg: 0.01, waterC: 18, kitL: 10, kitLpm: 10 },
        ]),
      'off the mean of all',
    ],
  ])('is refused for %s, with the reason', (_name, make, why) => {
    expect(make).toThrow(FitError);
    expect(make).toThrow(why);
  });

  it('takes clean water that is as uncertain as usual, and says nothing of noise or step that nobody told', () => {
    const unread = { sdRaw: null, kitValue: null };
    const c = certificateOf({ ...occasion, kitStep: null }, 'line', [read(0.2, 0.3, 0.6, unread), read(100, 3, 0.7)]);
    expect([c.blankSd, c.step, limitOfDetection(c)]).toEqual([null, null, null]);
    // As one was kept before that: no noise told counted as none.
    expect(limitOfDetection({ blankSd: 0, step: null })).toBeNull();
  });

  it('of a thermometer is a shift by one point, and no shift is larger than a good sensor needs', () => {
    const t: Occasion = { ...occasion, channel: 't-supply', input: 'kit', kitStep: 0.0625, kitHi: null };
    const c = certificateOf(t, 'shift', [read(0, 0.05, 0.31, { uRaw: 0.02, kitValue: 0.31 })]);
    expect(calibrate(c, 50.31).value).toBeCloseTo(50, 9);
    expect(calibrate(c, 0.31)).toMatchObject({ u: expect.closeTo(Math.hypot(0.05, 0.02), 12), outside: false });
    expect(() => certificateOf(t, 'shift', [read(0, 0.05, 9)])).toThrow('right sensor');
  });

  it('of a flow meter scales the kit own flow', () => {
    const flow: Occasion = { ...occasion, channel: 'flow', input: 'kit', kitStep: 0.1, kitHi: 60 };
    const c = flowCertificateOf(flow, [{ massKg: 9.97, uMassKg: 0.01, waterC: 20, kitL: 9.5, kitLpm: 10 }]);
    // 9.97 kg at 20 °C is 9.9984 l (check value of flow-factor.ts: 10.000 kg -> 10.0285 l).
    expect(calibrate(c, 10).value).toBeCloseTo((10 * 0.997 * 10.0285) / 9.5, 2);
  });
});

describe('standards that contradict one another', () => {
  const why = (kind: 'line' | 'steps', standards: readonly StandardRead[], more: Partial<Occasion> = {}): string => {
    try {
      certificateOf({ ...occasion, ...more }, kind, standards);
    } catch (error) {
      if (error instanceof FitError) return error.message;
      throw error;
    }
    return 'kept';
  };
  const untold = { kitValue: null };

  it('refuses two that were mixed up, by the kit own values beside the raw ones, whatever the curve', () => {
    const mixed = [read(0.2, 0.1, 0.6, { kitValue: 100 }), read(100, 3, 0.5, { kitValue: 0.2 })];
    for (const kind of ['line', 'steps'] as const)
      expect(why(kind, mixed)).toContain('less of the standard 100 NTU than of the standard 0.2 NTU');
    const near = [read(5, 1, 0.62), read(5.5, 1, 0.61)];
    expect(why('line', near)).toContain('Were the two mixed up?');
    const [a, b] = example.map((s) => s.raw);
    const four = example.map((s, i) => {
      const raw = i === 0 ? (b ?? 0) : i === 1 ? (a ?? 0) : s.raw;
      return { ...s, raw, kitValue: (raw - 0.5) * 1000 };
    });
    expect(why('line', four)).toContain('less of the standard 20 NTU than of the standard 0.2 NTU');
  });

  it('takes a raw reading that falls with the quantity where the kit knows it', () => {
    const falling = [0.2, 20, 100].map((v) => read(v, 0.1 + 0.02 * v, 4 - v / 100, { kitValue: v }));
    expect(why('line', falling)).toBe('kept');
  });

  it('refuses them for a kit that sends no raw reading, by straight pieces too', () => {
    const mixed = [read(0, 0.01, 3, untold), read(3, 0.01, 0, untold)];
    for (const kind of ['line', 'steps'] as const)
      expect(why(kind, mixed, { channel: 'pressure', input: 'kit' })).toContain('Were the two mixed up?');
  });

  it('names the one without which the others agree, not the one that it drew off', () => {
    const wrong = [0, 20, 100, 400].map((v) => read(v, 0.3 + 0.03 * v, 0.6 + (v === 20 ? 300 : v) / 800, untold));
    expect(why('line', wrong)).toMatch(
      /^The standard 20 NTU lies 280 NTU off the curve through the others\. Measure it/,
    );
  });

  it('names all that it could be, and does not advise what would not help', () => {
    const three = [read(0, 0.3, 0.6, untold), read(100, 3, 1.1, untold), read(400, 12, 0.75, untold)];
    const said = why('line', three);
    expect(said).toContain('cannot be told: 0 or 100 or 400 NTU');
    expect(said).not.toContain('straight pieces');
    const steps = why('steps', [...three, read(800, 24, 1.6, untold)]);
    expect(steps).toContain('cannot be told: 100 or 400 NTU');
    expect(steps).not.toContain('straight pieces');
  });

  it('advises straight pieces where they go through all', () => {
    const bent = [0, 50, 200, 800].map((v) => read(v, 0.3 + 0.03 * v, 0.6 + Math.sqrt(v) / 30, untold));
    expect(why('line', bent)).toContain('straight pieces if the sensor bends');
    expect(why('steps', bent)).toBe('kept');
  });
});
