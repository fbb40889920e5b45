import { describe, expect, it } from 'vitest';
import { cardMm, clampPxPerMm, usualPxPerMm } from '../../../dashboards/shared/true-size.ts';

describe('pixels to the millimetre', () => {
  it('stay between what screens are made for and what the page can follow', () => {
    expect(clampPxPerMm(6.3)).toBe(6.3);
    expect(clampPxPerMm(1)).toBe(4.4);
    expect(clampPxPerMm(50)).toBe(7.2);
    expect(clampPxPerMm(Number.NaN)).toBe(usualPxPerMm);
  });

  it('are told by a card of 85.60 by 53.98 mm (ISO/IEC 7810, ID-1; from memory)', () => {
    expect(cardMm).toEqual({ width: 85.6, height: 53.98 });
  });
});
