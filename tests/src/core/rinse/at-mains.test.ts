import { describe, expect, it } from 'vitest';
import { defaultLineSettings } from '../../../../src/core/line/settings.ts';
import { AtMains, type RinseSecond } from '../../../../src/core/rinse/at-mains.ts';
import { noiseFrom } from '../noise.ts';

/** Limits: 2.5 NTU (0.5 and 2 over) and 330 uS/cm (300 and a tenth). */
const mains = { turbidity_ntu: 0.5, conductivity_us_cm: 300 };

/** So many seconds at a level, at 6 l/min from second `fromS` on; returns when the mains' level was first said. */
function hold(atMains: AtMains, fromS: number, seconds: number, more: Partial<RinseSecond> & { noiseNtu?: number }) {
  const next = noiseFrom(fromS + 1);
  const { ntu = 1, noiseNtu = 0, stepNtu = 0.1 } = more;
  let saidS: number | null = null;
  for (let i = 0; i < seconds; i++) {
    const endS = fromS + i;
    const seen = Math.round((ntu + noiseNtu * next()) / stepNtu) * stepNtu;
    const second = { conductivityUsCm: 310, isUsable: true, litresL: endS / 10, ...more, stepNtu, endS, ntu: seen };
    if (atMains.step(second)) saidS ??= endS;
  }
  return saidS;
}

describe('the rinse at mains level', () => {
  it('is said once the level has held, and is the surer the further under the limits', () => {
    const near = new AtMains(mains, defaultLineSettings);
    expect(hold(near, 0, 60, { ntu: 2.2, noiseNtu: 0.4 })).toBe(15);
    const far = new AtMains(mains, defaultLineSettings);
    hold(far, 0, 60, { ntu: 1, noiseNtu: 0.4 });
    expect(near.confidence ?? 1).toBeLessThan(far.confidence ?? 0);
    expect(far.confidence).toBeGreaterThan(0.99);
  });

  it('is not said while either of the two is over its limit', () => {
    for (const over of [{ ntu: 3 }, { conductivityUsCm: 340 }]) {
      const atMains = new AtMains(mains, defaultLineSettings);
      expect(hold(atMains, 0, 200, over)).toBeNull();
      expect([atMains.hindrance, atMains.confidence]).toEqual(['over-mains', null]);
    }
  });

  it('does not stand while nobody sees, and is looked at anew', () => {
    const atMains = new AtMains(mains, defaultLineSettings);
    hold(atMains, 0, 30, {});
    for (let s = 30; s < 70; s += 1) atMains.blind(s);
    expect([atMains.clearAtS, atMains.confidence]).toEqual([null, null]);
    hold(atMains, 70, 10, {});
    // What is under its limits is not said to be over them.
    expect(atMains.hindrance).toBe('seen-briefly');
    expect(hold(atMains, 80, 40, {})).toBe(85);
  });

  it('is said again within seconds after a gap of seconds, but not of dirty water, nor where it was not said before', () => {
    const gap = (before: object, after: object): number | null => {
      const atMains = new AtMains(mains, defaultLineSettings);
      hold(atMains, 0, 30, before);
      for (let s = 30; s < 40; s += 1) atMains.blind(s);
      return hold(atMains, 40, 60, after);
    };
    expect(gap({}, {})).toBe(45);
    expect(gap({}, { ntu: 12 })).toBeNull();
    expect(gap({ ntu: 12 }, {})).toBe(55);
  });

  it('goes when dirty water comes late', () => {
    const atMains = new AtMains(mains, defaultLineSettings);
    hold(atMains, 0, 30, {});
    hold(atMains, 30, 30, { ntu: 40 });
    expect([atMains.clearAtS, atMains.confidence]).toEqual([null, null]);
  });

  it('a sensor whose step is wider than the limit cannot show it: its nought is no reading of under 2.5 NTU', () => {
    const coarse = new AtMains(mains, defaultLineSettings);
    expect(hold(coarse, 0, 200, { ntu: 0, stepNtu: 10 })).toBeNull();
    expect(coarse.hindrance).toBe('too-coarse');
    // Clearly over it, that is all there is to say.
    hold(coarse, 200, 60, { ntu: 40, stepNtu: 10 });
    expect(coarse.hindrance).toBe('over-mains');
    // A step that fits twice under the limit is fine enough.
    expect(hold(new AtMains(mains, defaultLineSettings), 0, 60, { ntu: 1, stepNtu: 1 })).not.toBeNull();
  });

  it('waits for the water of an emitter that was opened, by litres', () => {
    const atMains = new AtMains(mains, defaultLineSettings);
    hold(atMains, 0, 30, {});
    expect(atMains.clearAtS).not.toBeNull();
    atMains.opened(3 + 8);
    expect(hold(atMains, 30, 80, {})).toBeNull();
    expect(atMains.hindrance).toBe('water-to-come');
    // At 6 l/min the eleventh litre has come after 110 s.
    expect(hold(atMains, 110, 20, {})).toBe(110);
    // Without flow nothing comes.
    const still = new AtMains(mains, defaultLineSettings);
    still.opened(5);
    expect(hold(still, 0, 300, { litresL: 2 })).toBeNull();
    expect(still.waitL).toBeCloseTo(3, 9);
  });
});
