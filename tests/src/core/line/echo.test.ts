import { describe, expect, it } from 'vitest';
import { Echo } from '../../../../src/core/line/echo.ts';
import { Series } from '../../../../src/core/signal/series.ts';

const loopL = 20;
const litresPerS = 0.2;
const quietNtu = 10;
const ahead = 0.8;

/**
 * Water whose dirt stands even all round the loop, `evenNtu` over the quiet level at the return, after a quiet spell in which
 * the sensor after the chambers shows its own level. The chambers let the share `passes` through.
 */
function evenLoop(evenNtu: number, passes: number, hasOut: boolean): Echo {
  const series = new Series();
  const echo = new Echo(series, loopL, passes, 0.1);
  const quietS = 60;
  for (let t = 1; t <= quietS + (3 * loopL) / litresPerS; t += 1) {
    const excess = t > quietS ? evenNtu : 0;
    series.push(t, t * litresPerS, quietNtu + excess, 0.3, excess);
    echo.step(2, hasOut ? quietNtu + passes * excess : Number.NaN, quietNtu);
  }
  return echo;
}

/** A pulse of `peakNtu` went by one loop and `pastL` ago, and the line stands at its quiet level since. */
function pulseAgo(peakNtu: number, pastL: number): Echo {
  const series = new Series();
  const echo = new Echo(series, loopL, 0.4, 0.1);
  for (let v = litresPerS; v <= 10 + loopL + pastL; v += litresPerS) {
    const excess = v > 8 && v < 10 ? peakNtu : 0;
    series.push(v / litresPerS, v, quietNtu + excess, 0.3, excess);
    echo.step(2, Number.NaN, quietNtu);
  }
  return echo;
}

describe('the largest echo ahead', () => {
  const fitted = { share: 0, sd: 0 };

  it('is waited for until its crest ought to have come, whatever stands', () =>
    expect(pulseAgo(400, -0.4 * loopL).ahead(1, fitted, 0).ntu).toBeGreaterThan(40));

  it('lapses after that where nothing stands, and goes by what stands where something does', () => {
    const echo = pulseAgo(400, 0.4 * loopL);
    expect(echo.kernel.now).toBeGreaterThan(10);
    expect(echo.ahead(1, fitted, 0).ntu).toBeLessThan(0.1);
    expect(echo.ahead(1, fitted, 4).ntu).toBeCloseTo(6, 0);
    expect(echo.ahead(1, fitted, 1000).ntu).toBeGreaterThan(6);
  });
});

describe('the least echo ahead', () => {
  it.each([0.2, 0.5, 0.8])(
    'falls by what the chambers catch on the next way round, where a sensor behind them shows it: %s passes',
    (passes) => {
      const echo = evenLoop(100, passes, true);
      // What was measured behind the chambers is the echo itself.
      expect(echo.kernel.now).toBeCloseTo(100 * passes, 0);
      expect(echo.leastAhead(ahead, 0.5, 1)).toBeCloseTo(echo.kernel.now, 0);
      // Once round (six tenths of the loop are delay, a quarter smears): the new water has come, and that of a second time not yet.
      const once = echo.leastAhead(ahead, 1.2, 1) / echo.kernel.now;
      expect(once).toBeGreaterThan(passes - 0.01);
      expect(once).toBeLessThan(passes + 0.2 * (1 - passes));
      // Twice round.
      const twice = echo.leastAhead(ahead, 1.8, 1) / echo.kernel.now;
      expect(twice).toBeGreaterThan(passes ** 2 - 0.01);
      expect(twice).toBeLessThan(passes ** 2 + 0.3 * (1 - passes ** 2));
    },
  );

  it('stands as it is where nothing shows what the chambers catch', () => {
    const echo = evenLoop(100, 0.5, false);
    expect(echo.kernel.now).toBeCloseTo(100, 0);
    expect(echo.leastAhead(ahead, 1.8, 0.5)).toBeCloseTo(100, 0);
  });
});
