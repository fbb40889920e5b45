import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { emitterContent } from '../../../../src/core/circuit/emitter.ts';
import { transitTime } from '../../../../src/core/circuit/expected-transit.ts';
import { visitingOrder } from '../../../../src/core/circuit/order.ts';
import { frictionColebrook } from '../../../../src/core/circuit/pipe-flow.ts';
import { isLifted, settling } from '../../../../src/core/circuit/settling.ts';
import { bestVolume, systemVolume } from '../../../../src/core/circuit/system-volume.ts';
import { findTube, runLitres } from '../../../../src/core/circuit/tube.ts';
import { say } from '../../../../src/core/message/message.ts';

describe('water content of an emitter', () => {
  it('typed litres win, a size gives a range that is called an estimate, a floor loop is geometry', () => {
    const typed = emitterContent({ type: 'panel', litres: 4, lengthMm: 1000, heightMm: 600 });
    expect(typed.ok && typed.value).toEqual({ litres: { value: 4, u: 0.2 }, origin: 'typed' });
    const sized = emitterContent({ type: 'panel', lengthMm: 1000, heightMm: 600 });
    if (!sized.ok) throw new Error('refused');
    expect(sized.value.origin).toBe('estimate');
    expect(sized.value.litres.u / sized.value.litres.value).toBeGreaterThan(0.15);
    const loop = emitterContent({ type: 'floor-loop', innerMm: 12, tubeM: 80 });
    expect(loop.ok && loop.value.litres.value).toBeCloseTo(9.05, 2);
  });

  it('grows with its size', () => {
    const size = fc.integer({ min: 300, max: 2900 });
    fc.assert(
      fc.property(size, size, fc.constantFrom('panel', 'double-panel', 'triple-panel', 'towel-rail'), (l, h, type) => {
        const small = emitterContent({ type, lengthMm: l, heightMm: h });
        const large = emitterContent({ type, lengthMm: l + 50, heightMm: h + 50 });
        expect(small.ok && large.ok && large.value.litres.value > small.value.litres.value).toBe(true);
      }),
    );
  });

  it('refuses impossible and missing sizes in words', () => {
    const wide = emitterContent({ type: 'panel', lengthMm: 60000, heightMm: 600 });
    const bare = emitterContent({ type: 'column' });
    const nan = emitterContent({ type: 'panel', litres: Number.NaN });
    if (wide.ok || bare.ok || nan.ok) throw new Error('taken');
    expect(say(wide.refusal)).toBe(
      'length of the emitter: found 60000, possible is 200 to 6000 mm. Check the figure and its unit.',
    );
    expect(say(bare.refusal)).toContain('needs its number of sections');
    expect(say(nan.refusal)).toContain('found no number');
  });
});

describe('system volume', () => {
  it('adds its parts, and is surer as a share than each of them but never surer than the common share', () => {
    const part = fc.record({
      value: fc.double({ min: 1, max: 50, noNaN: true }),
      u: fc.double({ min: 0, max: 5, noNaN: true }),
    });
    fc.assert(
      fc.property(fc.array(part, { minLength: 1, maxLength: 30 }), (parts) => {
        const all = systemVolume(parts);
        const total = parts.reduce((a, p) => a + p.value, 0);
        expect(all.value).toBeCloseTo(total, 6);
        expect(all.u).toBeGreaterThanOrEqual(0.05 * total * (1 - 1e-9));
        const more = systemVolume([...parts, { value: 3, u: 1 }]);
        expect(more.value).toBeGreaterThan(all.value);
        expect(more.u).toBeGreaterThan(all.u);
      }),
    );
  });

  it('a measured volume wins over the survey, the surer over the other, and disagreement is told', () => {
    const survey = { value: 100, u: 8 };
    expect(bestVolume({})).toBeNull();
    expect(bestVolume({ survey })?.origin).toBe('survey');
    const both = bestVolume({ survey, fill: { value: 140, u: 5 }, dilution: { value: 135, u: 10 } });
    expect(both?.origin).toBe('fill');
    expect(both?.apartFrom).toEqual(['survey']);
  });
});

describe('transit and order', () => {
  it('falls with flow, and never ends when the water stands', () => {
    expect(transitTime({ value: 5, u: 0.5 }, 0)).toBeNull();
    expect(transitTime({ value: 5, u: 0.5 }, Number.NaN)).toBeNull();
    const t = transitTime({ value: 5, u: 0.5 }, 10);
    expect(t).toEqual({ seconds: 30, fromS: 24, toS: 36 });
  });

  it('top floor first, then the longest way to the rig; every emitter once; the list where nothing is known', () => {
    const order = visitingOrder([
      { id: 'hall', floor: 0, pathL: 2 },
      { id: 'bath', floor: 1, pathL: 3 },
      { id: 'kitchen', floor: 0, pathL: 6 },
      { id: 'bed', floor: 1, pathL: 7 },
    ]);
    expect(order.map((o) => o.id)).toEqual(['bed', 'bath', 'kitchen', 'hall']);
    expect(order.map((o) => o.reason)).toEqual(['order-top-floor', 'order-nearer', 'order-furthest', 'order-nearer']);
    for (const o of order) expect(say({ code: o.reason, params: {} })).toContain('common practice');
    const bare = visitingOrder(['c', 'a', 'b'].map((id) => ({ id, floor: 0, pathL: null })));
    expect(bare.map((o) => `${o.id} ${o.reason}`)).toEqual([
      'c order-as-listed',
      'a order-as-listed',
      'b order-as-listed',
    ]);
    expect(visitingOrder([])).toEqual([]);
  });
});

describe('pipes', () => {
  it('refuses tubes and lengths that do not exist', () => {
    const tube = findTube('copper-16x0.7');
    const run = runLitres(13.6, -1);
    expect(!tube.ok && say(tube.refusal)).toContain('There is no tube "copper-16x0.7"');
    expect(run.ok).toBe(false);
  });

  it("Colebrook's equation holds at its own root, and friction falls with Reynolds number", () => {
    fc.assert(
      fc.property(
        fc.double({ min: 4000, max: 1e7, noNaN: true }),
        fc.double({ min: 0, max: 0.05, noNaN: true }),
        (re, e) => {
          const f = frictionColebrook(re, e);
          const x = 1 / Math.sqrt(f);
          expect(x).toBeCloseTo(-2 * Math.log10(e / 3.7 + (2.51 * x) / re), 9);
          expect(frictionColebrook(re * 1.5, e)).toBeLessThan(f);
        },
      ),
    );
  });

  it('larger grains sink faster, and rising water lifts what sinks slower', () => {
    const water = { densityKgM3: 998.2, viscosityPaS: 1.0016e-3 };
    let before = 0;
    for (let d = 1; d <= 1000; d *= 1.1) {
      const v = settling(d, water).mPerS;
      expect(v).toBeGreaterThan(before);
      before = v;
    }
    expect(isLifted(0.3, settling(200, water))).toBe(true);
    expect(isLifted(0.05, settling(200, water))).toBe(false);
  });
});
