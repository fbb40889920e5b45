import { describe, expect, it } from 'vitest';
import { OwnLitres } from '../../../../src/core/line/own-litres.ts';

describe('litres of the emitter that is worked on', () => {
  it('are those of the loop while it is alone', () => {
    const own = new OwnLitres();
    expect(own.loopL(12.3, 40)).toBe(12.3);
    expect(own.isSharedSince(0)).toBe(false);
  });

  it('take more of the loop while another gives, and only while it gives', () => {
    const own = new OwnLitres();
    own.set(0.5, 100);
    // Told while it stands: 5 l before, the other 10 l of the 15 take 20.
    expect(own.loopL(15, 95)).toBeCloseTo(25, 10);
    own.set(1, 110);
    expect(own.loopL(15, 95)).toBeCloseTo(5 + 10 + 5, 10);
    expect(own.loopL(15, 105)).toBeCloseTo(5 + 12.5, 10);
    expect(own.loopL(15, 110)).toBe(15);
    expect(own.loopL(4, 95)).toBe(4);
    expect([own.share, own.isSharedSince(109), own.isSharedSince(110)]).toEqual([1, true, false]);
  });

  it('are of this visit alone', () => {
    const own = new OwnLitres();
    own.set(0.5, 100);
    own.begin();
    expect(own.loopL(15, 95)).toBe(15);
  });
});
