import { describe, expect, it } from 'vitest';
import {
  friction,
  frictionColebrook,
  frictionSwameeJain,
  lossPaPerM,
  reynolds,
  velocityMS,
} from '../../src/core/circuit/pipe-flow.ts';
import { settling } from '../../src/core/circuit/settling.ts';
import { transitTime } from '../../src/core/circuit/expected-transit.ts';
import { boreMm, findTube, litresPerMetre, tubes } from '../../src/core/circuit/tube.ts';
import { exact } from '../../src/core/quantity/interval.ts';
import { rinseForecast } from '../../src/core/rinse/forecast.ts';
import { densityKgM3 } from '../../src/core/water/density.ts';
import { viscosityPaS } from '../../src/core/water/viscosity.ts';

describe('litres in a metre of pipe', () => {
  // Bores from a UK tube data table citing EN 1057 (read); litres by the area of a circle, worked apart from the code.
  it.each([
    ['copper-8x0.6', 6.8, 0.0363],
    ['copper-10x0.6', 8.8, 0.0608],
    ['copper-12x0.6', 10.8, 0.0916],
    ['copper-15x0.7', 13.6, 0.1453],
    ['copper-15x1', 13.0, 0.1327],
    ['copper-22x0.9', 20.2, 0.3205],
    ['copper-22x1.2', 19.6, 0.3017],
    ['copper-28x0.9', 26.2, 0.5391],
    ['copper-35x1.2', 32.6, 0.8347],
    ['copper-42x1.2', 39.6, 1.2316],
    ['copper-54x1.2', 51.6, 2.0912],
    // From memory: EN 10255 medium, plastic.
    ['steel-dn15x2.6', 16.1, 0.2036],
    ['steel-dn50x3.6', 53.1, 2.2145],
    ['plastic-15x1.5', 12.0, 0.1131],
  ])('%s: bore %d mm, %d l/m', (id, bore, litres) => {
    const tube = findTube(id);
    if (!tube.ok) throw new Error(id);
    expect(boreMm(tube.value)).toBeCloseTo(bore, 9);
    expect(litresPerMetre(bore)).toBeCloseTo(litres, 4);
  });

  it('says of each size whether it was read or remembered, and each id is there once', () => {
    expect(tubes.filter((t) => t.origin.startsWith('read')).map((t) => t.id)).toHaveLength(11);
    expect(new Set(tubes.map((t) => t.id)).size).toBe(tubes.length);
  });

  it('20 m of 15 x 0.7 at 10 l/min take 17.43 s', () => {
    expect(transitTime(exact(20 * litresPerMetre(13.6)), 10)?.seconds).toBeCloseTo(17.43, 2);
  });
});

describe('friction in pipes', () => {
  // Lindeburg, Civil Engineering Reference Manual, 12th ed., example 17.2, as quoted in the vignette of R package iemisc.
  it('Lindeburg 17.2: Re 400 000, e/D 0.004: Colebrook 0.0287, Swamee-Jain 0.0288', () => {
    expect(frictionColebrook(4e5, 0.004)).toBeCloseTo(0.0287, 4);
    expect(frictionSwameeJain(4e5, 0.004)).toBeCloseTo(0.0288, 4);
  });

  // Kudela, Hydraulic losses in pipes, example 1 (same vignette): 0.2 m3/s of oil, 500 m of 200 mm: 117 m of head.
  it('Kudela example 1: head loss 117 m', () => {
    const v = velocityMS(0.2 * 60000, 200);
    const re = reynolds(v, 200, 1000, 1000 * 1e-5);
    expect(re).toBeCloseTo(127324, 0);
    const head = (lossPaPerM(frictionColebrook(re, 0.26 / 200), v, 200, 1000) * 500) / (1000 * 9.80665);
    expect(Math.round(head)).toBe(117);
  });

  // python3-fluids 1.0.22: friction_factor(Re, eD, Method='Colebrook' | 'Swamee_Jain_1976')
  it.each([
    [1e4, 1e-4, 0.03103721220099863, 0.031148648694113167],
    [1e5, 1e-4, 0.018513866077471648, 0.018452424431901808],
    [1e5, 0.01, 0.03850354352733519, 0.0387509272113223],
    [5e3, 1e-3, 0.0384953590005396, 0.03910051272562537],
  ])('golden: Re %d, e/D %d', (re, rough, colebrook, swamee) => {
    expect(frictionColebrook(re, rough)).toBeCloseTo(colebrook, 12);
    // The library writes the constant 5.74 as 6.97^0.9.
    expect(frictionSwameeJain(re, rough)).toBeCloseTo(swamee, 6);
  });

  // Worked with python3-fluids: 15 x 0.7 copper, 10 l/min, roughness 1.5 um.
  it.each([
    [10, 11946, 0.02966, 1435],
    [20, 15552, 0.02776, 1341],
    [60, 32918, 0.02329, 1108],
  ])('15 mm copper at 10 l/min and %d °C', (celsius, re, factor, loss) => {
    const v = velocityMS(10, 13.6);
    const got = reynolds(v, 13.6, densityKgM3(celsius), viscosityPaS(celsius));
    expect(Math.abs(got / re - 1)).toBeLessThan(0.002);
    const f = friction(got, 0.0015 / 13.6);
    expect(f.regime).toBe('turbulent');
    expect(f.factor).toBeCloseTo(factor, 4);
    expect(Math.abs(lossPaPerM(f.factor, v, 13.6, densityKgM3(celsius)) / loss - 1)).toBeLessThan(0.003);
  });

  it('laminar flow has 64 / Re, and the span between is marked', () => {
    expect(friction(1000, 0.001)).toEqual({ factor: 0.064, regime: 'laminar' });
    expect(friction(3000, 0.001).regime).toBe('uncertain');
  });
});

describe('settling of oxide particles', () => {
  // python3-fluids 1.0.22: v_terminal(D, rhop=5180, rho, mu) * 1e3 with water of 20 and 60 degrees, a full drag curve.
  it.each([
    [1, 0.00227466, 0.0049066],
    [5, 0.0568666, 0.122665],
    [10, 0.227466, 0.490657],
    [20, 0.909665, 1.94826],
    [50, 5.52344, 10.93554],
    [100, 18.98999, 30.7216],
    [200, 50.05687, 73.1051],
  ])('%d µm within 6 %% of a full drag curve, cold and hot', (micrometres, cold, hot) => {
    const at20 = settling(micrometres, { densityKgM3: 998.2, viscosityPaS: 1.0016e-3 });
    const at60 = settling(micrometres, { densityKgM3: 983.2, viscosityPaS: 0.466e-3 });
    expect(Math.abs((at20.mPerS * 1e3) / cold - 1)).toBeLessThan(0.06);
    expect(Math.abs((at60.mPerS * 1e3) / hot - 1)).toBeLessThan(0.06);
  });

  it('Stokes alone is used only where its particle Reynolds number is small', () => {
    const water = { densityKgM3: 998.2, viscosityPaS: 1.0016e-3 };
    expect(settling(20, water)).toMatchObject({ law: 'stokes' });
    expect(settling(100, water)).toMatchObject({ law: 'drag-curve' });
    expect(() => settling(2000, water)).toThrow('0.1 to 1000');
  });
});

describe('washout', () => {
  // One stirred tank, e^-x (textbook formula): 2.303 changes of water to a tenth.
  it('one emitter of 8 l at 8 l/min is down to 10 % after 138.2 s', () => {
    expect(transitTime(exact(8 * Math.log(10)), 8)?.seconds).toBeCloseTo(138.2, 1);
  });

  it('100 l from five times what is allowed over the mains: 1.609 changes, 160.9 l, held by the forecast of the rinse', () => {
    const points = Array.from({ length: 40 }, (_, i) => ({ litres: i - 40, over: 5 * Math.exp((40 - i) / 100) }));
    const forecast = rinseForecast({ channels: [points], flowedL: 40, wayL: 100, isFirst: true, flowLpm: 10 });
    // What the last litres promise, 1.2 times and a litre beside, for corners give their water late.
    expect(((forecast?.litres ?? 0) - 1) / 1.2).toBeCloseTo(160.9, -0.5);
    expect(forecast?.fromL).toBeLessThan(160.9);
    expect(forecast?.toL).toBeGreaterThan(160.9);
  });
});
