import { describe, expect, it } from 'vitest';
import { Random } from '../../../simulators/random.ts';
import { Bubbles } from '../../../simulators/sensors/bubbles.ts';
import { TurbiditySensor, type TurbiditySpec } from '../../../simulators/sensors/turbidity.ts';

const plain: TurbiditySpec = {
  noiseNtu: 1,
  noiseShare: 0.03,
  loNtu: 0,
  hiNtu: 4000,
  stepNtu: 0,
  lagS: 1e-6,
  foldNtu: null,
};
const readings = (sensor: TurbiditySensor, ntu: number, count: number) =>
  Array.from({ length: count }, (_, i) => sensor.read(i * 0.1, ntu) ?? Number.NaN);
const mean = (x: number[]) => x.reduce((sum, v) => sum + v, 0) / x.length;
const sd = (x: number[]) => Math.sqrt(mean(x.map((v) => (v - mean(x)) ** 2)));

describe('the turbidity sensor', () => {
  it('is noisy by its floor and its share of the reading', () => {
    const x = readings(new TurbiditySensor(plain, new Random('n'), null), 400, 20000);
    expect(mean(x)).toBeCloseTo(400, 0);
    expect(sd(x) / Math.hypot(1, 12)).toBeCloseTo(1, 1);
  });

  it('stands at the end of its range, and knows that it is blind there', () => {
    const sensor = new TurbiditySensor({ ...plain, hiNtu: 1000 }, new Random('s'), null);
    expect(Math.min(...readings(sensor, 2500, 100))).toBe(1000);
    expect(sensor.blindAt(2500)).toBe(true);
    expect(sensor.blindAt(700)).toBe(false);
  });

  it('falls back beyond its fold: thicker water reads lower', () => {
    const sensor = (seed: string) =>
      new TurbiditySensor({ ...plain, noiseNtu: 0, noiseShare: 0, foldNtu: 1000 }, new Random(seed), null);
    expect(sensor('a').read(0, 1000)).toBeCloseTo(500, 6);
    expect(sensor('b').read(0, 3000)).toBeLessThan(310);
    expect(sensor('c').read(0, 20)).toBeCloseTo(20, 1);
    expect(sensor('d').topNtu).toBe(500);
  });

  it('repeats its last value when stuck, says zero when dark and nothing when gone', () => {
    const sensor = new TurbiditySensor(plain, new Random('f'), null);
    const last = sensor.read(0, 50);
    sensor.fault = 'stuck';
    expect(sensor.read(1, 900)).toBe(last);
    sensor.fault = 'dark';
    expect(sensor.read(2, 900)).toBe(0);
    sensor.fault = 'gone';
    expect(sensor.read(3, 900)).toBeNull();
    sensor.fault = 'none';
    expect(sensor.read(4, 900)).toBeGreaterThan(700);
  });

  it('drifts up as its window fouls, and is flat on clean water with a coarse converter', () => {
    const fouled = new TurbiditySensor({ ...plain, noiseNtu: 0, noiseShare: 0 }, new Random('w'), null);
    fouled.foulingPerMin = 6;
    expect(readings(fouled, 20, 601).at(-1)).toBeCloseTo(26, 1);
    const coarse = new TurbiditySensor({ ...plain, stepNtu: 16 }, new Random('c'), null);
    expect(new Set(readings(coarse, 16.5, 500)).size).toBe(1);
  });

  it('sees bubbles as short bursts, upwards only, fading after the air came', () => {
    const bubbles = new Bubbles(new Random('b'), 0);
    bubbles.stir(0, 10, 1, 20);
    const seen = Array.from({ length: 1200 }, (_, i) => bubbles.at(i * 0.1));
    expect(Math.min(...seen)).toBe(0);
    expect(seen.slice(0, 99).every((x) => x === 0)).toBe(true);
    const early = seen.slice(100, 400).filter((x) => x > 0).length;
    const late = seen.slice(900).filter((x) => x > 0).length;
    expect(early).toBeGreaterThan(20);
    expect(late).toBeLessThan(0.4 * early);
    let longest = 0;
    let run = 0;
    for (const x of seen) {
      run = x > 0 ? run + 1 : 0;
      longest = Math.max(longest, run);
    }
    expect(longest).toBeLessThan(40);
  });
});
