import { describe, expect, it } from 'vitest';
import { Random } from '../../../simulators/random.ts';
import { createAnalysis } from '../../../src/core/analyse.ts';
import { emptySample } from '../../../src/core/quantity/sample.ts';
import { context } from '../../src/core/job/job-cases.ts';
import { Bench } from './bench.ts';
import { noAvr } from './build.ts';

describe.skipIf(noAvr)(`firmware, the very binary, under faults${noAvr ? ` (${noAvr})` : ''}`, () => {
  it('leaves out a thermometer that is unplugged, and the other stays', () => {
    const b = new Bench();
    b.run(3);
    b.inputs.supplyC = null;
    const pack = b.run(6);
    expect(pack.values.supplyC).toBeUndefined();
    expect(pack.values.returnC).toBe(-10.125);
    b.inputs.supplyC = 50;
    expect(b.run(3).values.supplyC).toBe(50);
  });

  it('leaves out a pressure sensor that is unplugged and turbidity over range', () => {
    const b = new Bench();
    b.inputs.pressureShare = null;
    b.inputs.turbidityShare = 0.999;
    const pack = b.run(2);
    expect(pack.values.pressureBar).toBeUndefined();
    expect(pack.values.turbidityNtu).toBeUndefined();
    expect(pack.raw['turbidity']).toBeGreaterThan(4.9);
  });

  it('gives a stuck sensor away: the same number for ever, where the water flickered, and no verdict is given on it', () => {
    const b = new Bench();
    const random = new Random('stuck');
    const analysis = createAnalysis(context);
    analysis.event({ timeS: 0, event: 'emitter-open', emitter: 'a', note: '' });
    let fed = 0;
    const live = (seconds: number, flickers: boolean): string => {
      for (let i = 0; i < seconds * 10; i++) {
        if (flickers) b.inputs.turbidityShare = 0.1 + 0.0123 + 0.004 * random.normal();
        b.chip.run(0.1);
        for (; fed < b.packs.length; fed++) {
          const pack = b.packs[fed];
          if (pack) analysis.sample({ ...emptySample(pack.upS), ...pack.values });
        }
      }
      return analysis.verdict.reason.code;
    };
    expect(live(30, true)).not.toBe('stuck');
    expect(live(15, false)).toBe('stuck');
    expect(analysis.verdict.state).toBe('cannot-tell');
    expect(live(10, true)).not.toBe('stuck');
  });

  it('tells one pass for one press, however the contact bounces', () => {
    const b = new Bench();
    b.run(2);
    for (let i = 0; i < 12; i++) {
      b.inputs.buttonDown = i % 2 === 0;
      b.chip.run(0.002);
    }
    b.inputs.buttonDown = true;
    b.chip.run(0.4);
    for (let i = 0; i < 12; i++) {
      b.inputs.buttonDown = i % 2 === 1;
      b.chip.run(0.002);
    }
    b.inputs.buttonDown = false;
    b.run(1);
    expect(b.packs.filter((p) => p.pass)).toHaveLength(1);
  });

  it('comes back from a reset at any moment with a larger boot count and sound settings', () => {
    const b = new Bench();
    let boot = 0;
    for (const moment of [0.0003, 0.002, 0.0051, 0.0083, 0.4, 1.018, 1.021, 1.037, 1.3]) {
      b.chip.run(moment);
      b.chip.reset();
      boot++;
    }
    const pack = b.run(2);
    expect(pack.boot).toBeGreaterThan(1);
    expect(pack.boot).toBeLessThanOrEqual(boot + 1);
    expect(pack.values.supplyC).toBe(45.0625);
  });
});
