import fc from 'fast-check';
import { beforeAll, describe, expect, it, vi } from 'vitest';

// The model of the page asks its browser for this much when it is loaded.
let heldSpan: typeof import('../../../dashboards/rig/span.ts').heldSpan;
beforeAll(async () => {
  vi.stubGlobal('document', { addEventListener: () => undefined, documentElement: { dataset: {} } });
  ({ heldSpan } = await import('../../../dashboards/rig/span.ts'));
});

const span = fc
  .tuple(fc.double({ min: -1e5, max: 1e5, noNaN: true }), fc.double({ min: 0.01, max: 1e5, noNaN: true }))
  .map(([fromS, lengthS]) => ({ fromS, toS: fromS + lengthS }));

describe('a span moved by hand', () => {
  it('stays between 20 s and two hours, and never runs past what can be known', () => {
    fc.assert(
      fc.property(span, fc.double({ min: 0, max: 30_000, noNaN: true }), (asked, nowS) => {
        const { fromS, toS } = heldSpan(asked, nowS);
        expect(toS - fromS).toBeGreaterThanOrEqual(20 - 1e-6);
        expect(toS - fromS).toBeLessThanOrEqual(7200 + 1e-6);
        expect(toS).toBeLessThanOrEqual(nowS + 60 + 1e-6);
      }),
    );
  });

  it('that fits is left as it is', () => {
    expect(heldSpan({ fromS: 100, toS: 400 }, 1000)).toEqual({ fromS: 100, toS: 400 });
  });

  it('keeps its length at both ends', () => {
    fc.assert(
      fc.property(fc.double({ min: -5000, max: 5000, noNaN: true }), (moveS) => {
        const { fromS, toS } = heldSpan({ fromS: 100 + moveS, toS: 400 + moveS }, 1000);
        expect(toS - fromS).toBeCloseTo(300, 6);
      }),
    );
  });
});
