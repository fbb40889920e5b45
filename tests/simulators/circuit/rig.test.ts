import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Hydraulics } from '../../../simulators/circuit/hydraulics.ts';
import { Rig } from '../../../simulators/circuit/rig.ts';
import { at, background, conductivity, echo, turbidity } from '../../../simulators/circuit/water.ts';
import { Random } from '../../../simulators/random.ts';
import { drawHouse } from '../../../simulators/scenarios/house-sizes.ts';
import { rehearsalHouse } from '../../../simulators/scenarios/rehearsal.ts';

/** What hands may do to a rig, at random. */
const deed = fc.oneof(
  fc.record({ do: fc.constant('wait' as const), s: fc.integer({ min: 1, max: 200 }) }),
  fc.record({
    do: fc.constantFrom('open' as const, 'shut' as const, 'shake' as const, 'told-shake' as const, 'visit' as const),
    emitter: fc.integer({ min: 0, max: 3 }),
  }),
  fc.record({
    do: fc.constantFrom(
      'pump' as const,
      'empty' as const,
      'reverse' as const,
      'rinse' as const,
      'half' as const,
      'full' as const,
    ),
  }),
);
type Deed = typeof deed extends fc.Arbitrary<infer T> ? T : never;

function perform(rig: Rig, d: Deed): void {
  switch (d.do) {
    case 'wait':
      for (let i = 0; i < d.s * 5; i += 1) rig.step(0.2);
      break;
    case 'open':
      rig.openEmitter(d.emitter);
      break;
    case 'shut':
      rig.shutEmitter(d.emitter);
      break;
    case 'shake': {
      rig.beginPass();
      const emitter = rig.emitters[d.emitter];
      if (emitter) emitter.vigour = emitter.vigour > 0 ? 0 : 1;
      break;
    }
    case 'told-shake':
      rig.beginPass();
      rig.shakeEmitter(d.emitter, 30);
      break;
    case 'visit':
      rig.beginVisit();
      break;
    case 'pump':
      rig.hydraulics.pumpOn = !rig.hydraulics.pumpOn;
      break;
    case 'empty':
      rig.emptyChambers();
      break;
    case 'reverse':
      rig.reverseFlow();
      break;
    case 'rinse':
      rig.rinsing = !rig.rinsing;
      break;
    case 'half':
      rig.fillEmitters(0.5);
      break;
    case 'full':
      rig.fillEmitters(1);
      break;
  }
}

describe('the rig', () => {
  it('neither makes nor loses dirt, whatever is done to it', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 1e6 }), fc.array(deed, { minLength: 5, maxLength: 25 }), (seed, deeds) => {
        const random = new Random(`books/${seed}`);
        const wish = { emitters: 4, wish: () => ({ peakNtu: 900, hardRatio: 0.5 }) };
        const rig = new Rig(drawHouse(random, wish), random.fork('rig'));
        const start = rig.dirtNtuL();
        for (const d of deeds) perform(rig, d);
        const books = start + rig.cameInNtuL - rig.leftNtuL;
        expect(Math.abs(rig.dirtNtuL() / books - 1)).toBeLessThan(1e-9);
        expect(turbidity(rig.atSensor)).toBeGreaterThanOrEqual(0);
      }),
      { numRuns: 40, seed: 20 },
    );
  });

  it('gives each emitter alone its own flow, and two together more', () => {
    const h = new Hydraulics(rehearsalHouse);
    for (const [i, e] of rehearsalHouse.emitters.entries()) expect(h.target([i], 1)).toBeCloseTo(e.aloneLpm, 6);
    expect(h.target([0, 3], 1)).toBeGreaterThan(1.1 * Math.max(h.target([0], 1), h.target([3], 1)));
    expect(h.target([0], 3)).toBeLessThan(h.target([0], 1));
    expect(h.target([], 1)).toBe(0);
  });

  it('keeps its background level when nothing is done', () => {
    const still = { ...rehearsalHouse, background: { ...rehearsalHouse.background, wander: 0, driftPerHour: 0 } };
    const rig = new Rig(
      { ...still, emitters: still.emitters.map((e) => ({ ...e, settleS: 1e9, openShare: 0 })) },
      new Random('a'),
    );
    for (const [i] of rig.emitters.entries()) rig.openEmitter(i);
    for (let i = 0; i < 12000; i += 1) rig.step(0.1);
    expect(turbidity(rig.atSensor)).toBeGreaterThan(0.93 * still.background.levelNtu);
    expect(turbidity(rig.atSensor)).toBeLessThan(1.07 * still.background.levelNtu);
  });

  it('brings a pass to the sensor after about the path litres, and its echo one loop later', () => {
    const rig = new Rig(rehearsalHouse, new Random('b'));
    rig.fillEmitters(0.5);
    rig.beginVisit();
    rig.openEmitter(2);
    for (let i = 0; i < 1500; i += 1) rig.step(0.1);
    rig.beginPass();
    rig.shakeEmitter(2, 30);
    const from = rig.litres;
    const pathL = rig.pathL(2);
    const curve: { litres: number; fresh: number; echo: number }[] = [];
    for (let i = 0; i < 3000; i += 1) {
      rig.step(0.1);
      const coming = at(rig.atSensor, echo);
      const ground = at(rig.atSensor, background);
      curve.push({ litres: rig.litres - from, fresh: turbidity(rig.atSensor) - ground - coming, echo: coming });
    }
    const peak = curve.reduce((best, p) => (p.fresh > best.fresh ? p : best));
    expect(peak.fresh).toBeGreaterThan(300);
    expect(peak.litres).toBeGreaterThan(0.4 * pathL);
    expect(peak.litres).toBeLessThan(1.3 * pathL);
    const again = curve.reduce((best, p) => (p.echo > best.echo ? p : best));
    // What passes a clean chamber is a tenth; the rest of the way spreads it.
    expect(again.echo).toBeLessThan(rig.house.chamber.passEmpty * 1.05 * peak.fresh);
    expect(again.echo).toBeGreaterThan(0.4 * rig.house.chamber.passEmpty * peak.fresh);
    expect(again.litres - peak.litres).toBeGreaterThan(0.8 * rig.loopL());
    expect(again.litres - peak.litres).toBeLessThan(1.4 * rig.loopL());
  });

  it('stands still without the pump: no litres, no transport', () => {
    const rig = new Rig(rehearsalHouse, new Random('c'));
    rig.openEmitter(1);
    for (let i = 0; i < 300; i += 1) rig.step(0.1);
    rig.hydraulics.pumpOn = false;
    for (let i = 0; i < 200; i += 1) rig.step(0.1);
    const { litres } = rig;
    const seen = rig.atSensor.slice();
    rig.shakeEmitter(1, 30);
    for (let i = 0; i < 600; i += 1) rig.step(0.1);
    expect(rig.litres).toBe(litres);
    expect([...rig.atSensor]).toEqual([...seen]);
  });

  it('brings clearer water from an emitter that stood shut: a dip, and the way back', () => {
    const rig = new Rig(rehearsalHouse, new Random('d'));
    rig.openEmitter(0);
    for (let i = 0; i < 9000; i += 1) rig.step(0.1);
    const before = turbidity(rig.atSensor);
    rig.shutEmitter(0);
    rig.openEmitter(3);
    let lowest = Number.POSITIVE_INFINITY;
    for (let i = 0; i < 1500; i += 1) {
      rig.step(0.1);
      lowest = Math.min(lowest, turbidity(rig.atSensor));
    }
    expect(lowest).toBeLessThan(0.75 * before);
    expect(turbidity(rig.atSensor)).toBeGreaterThan(lowest * 1.15);
  });

  it('lets more pass and less flow as the chambers fill', () => {
    const rig = new Rig(rehearsalHouse, new Random('e'));
    rig.openEmitter(1);
    for (let i = 0; i < 300; i += 1) rig.step(0.1);
    const before = { flow: rig.flowLpm, pass: rig.chambers.passFraction };
    rig.chambers.caughtNtuL = rig.chambers.spec.capacityNtuL;
    for (let i = 0; i < 300; i += 1) rig.step(0.1);
    expect(rig.flowLpm).toBeLessThan(0.95 * before.flow);
    expect(rig.chambers.passFraction).toBeGreaterThan(4 * before.pass);
  });

  it('rinses cleaner out to within a tenth of the mains', () => {
    const rig = new Rig(rehearsalHouse, new Random('f'));
    rig.openEmitter(5);
    rig.dose(1500);
    for (let i = 0; i < 6000; i += 1) rig.step(0.1);
    expect(at(rig.atSensor, conductivity)).toBeGreaterThan(1700);
    rig.rinsing = true;
    for (let i = 0; i < 9000; i += 1) rig.step(0.1);
    expect(at(rig.atSensor, conductivity)).toBeLessThan(1.1 * rehearsalHouse.mains.conductivityUsCm);
  });

  it('shows a leak, a filling loop left open and cooling in its pressure', () => {
    const bar = (change: (rig: Rig) => void) => {
      const rig = new Rig(rehearsalHouse, new Random('g'));
      rig.openEmitter(1);
      change(rig);
      for (let i = 0; i < 3000; i += 1) rig.step(0.1);
      return rig.pressure.bar;
    };
    const calm = bar(() => undefined);
    expect(calm).toBeLessThan(rehearsalHouse.startBar);
    expect(bar((rig) => (rig.pressure.leakLpm = 0.1))).toBeLessThan(calm - 0.05);
    expect(bar((rig) => (rig.pressure.fillingLpmPerBar = 0.5))).toBeGreaterThan(calm + 0.3);
    expect(
      bar((rig) => {
        rig.heaterKPerMin = 2;
      }),
    ).toBeGreaterThan(calm);
  });
});
