import { describe, expect, it } from 'vitest';
import { Hydraulics } from '../../../../simulators/circuit/hydraulics.ts';
import { Random } from '../../../../simulators/random.ts';
import { drawScenario } from '../../../../simulators/scenarios/ordinary.ts';
import { ownShare } from '../../../../src/core/hydraulics/own-share.ts';

/** Houses of the simulator, whose flows are solved from pump curve and resistances: own shares as they truly are. */
const cases = Array.from({ length: 60 }, (_, seed) => {
  const { house } = drawScenario(new Random(`own-share/${seed}`));
  const water = new Hydraulics(house);
  const all = house.emitters.map((_, i) => i);
  const [first = 0, second = 1] = all;
  return {
    emitters: all.length,
    trueShare: water.shares([first, second])[0] ?? 0,
    aloneLpm: water.target([first], 1),
    bothLpm: water.target([first, second], 1),
    allLpm: water.target(all, 1),
  };
});

type Case = (typeof cases)[number];

const large = cases.filter((c) => c.emitters >= 5);
const small = cases.filter((c) => c.emitters < 5);
const seen = (c: Case): number => ownShare(c.aloneLpm, c.bothLpm, c.allLpm);
const errors = (of: readonly Case[], share: (c: Case) => number): number =>
  Math.sqrt(of.reduce((sum, c) => sum + (share(c) - c.trueShare) ** 2, 0) / of.length);

describe('the share that is left to an emitter when another opens', () => {
  it('is found to three hundredths once the flow of five and more was seen, far better than from the flows alone', () => {
    expect(large.length).toBeGreaterThan(20);
    expect(errors(large, seen)).toBeLessThan(0.03);
    expect(errors(large, (c) => c.aloneLpm / c.bothLpm)).toBeGreaterThan(0.15);
  });

  it('errs to the low side in a small house: too much water is waited for, not too little', () => {
    expect(small.length).toBeGreaterThan(5);
    for (const c of small) expect(seen(c)).toBeLessThan(c.trueShare + 0.01);
    expect(errors(small, seen)).toBeLessThan(0.12);
  });

  it('is nearer than from the flows alone even where no higher flow was seen', () => {
    const unseen = (c: Case): number => ownShare(c.aloneLpm, c.bothLpm, c.bothLpm);
    expect(errors(cases, unseen)).toBeLessThan(errors(cases, (c) => c.aloneLpm / c.bothLpm));
  });

  it('is the whole where nothing more flows, and never out of 0 to 1', () => {
    expect(ownShare(8, 8, 20)).toBe(1);
    expect(ownShare(8, 7, 20)).toBe(1);
    for (const c of cases) {
      expect(seen(c)).toBeGreaterThan(0);
      expect(seen(c)).toBeLessThanOrEqual(1);
    }
  });
});
