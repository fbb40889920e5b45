import { describe, expect, it } from 'vitest';
import { createAnalysis } from '../../../../src/core/analyse.ts';
import { makeRun, oneVisit } from './made-run.ts';
import { forecastOf } from '../../../../src/core/line/forecast.ts';
import { normalCdf, normalQuantile } from '../../../../src/core/line/normal.ts';
import { fitWashout } from '../../../../src/core/line/washout.ts';
import { Series } from '../../../../src/core/signal/series.ts';
import { gaussian } from './made-run.ts';

/** Seconds of a stirred tank that washes out: background + start exp(-litres / volume). */
function tail(seconds: number, backgroundNtu: number, startNtu: number, volumeL: number, noise: number): Series {
  const g = gaussian(3);
  const series = new Series();
  for (let i = 0; i < seconds; i += 1) {
    const litres = (i * 8) / 60;
    series.push(i, litres, backgroundNtu + startNtu * Math.exp(-litres / volumeL) + noise * g(), noise, 0);
  }
  return series;
}

const prior = {
  backgroundNtu: 20,
  backgroundSd: 1,
  echoShare: 0,
  echoShareSd: 0.1,
  echoPeak: 0,
  washoutL: 4,
  slowSd: 1,
  peakL: 0,
};
const noEcho = new Float64Array(4096);

describe('washout fit', () => {
  const cases = [80, 400, 2000].flatMap((start) => [3, 4, 5.5, 8].map((volume) => [start, volume] as const));
  it.each(cases)('finds excess and rest of a stirred tank: %d NTU, %d l', (start, volume) => {
    // One and a half volumes of readings, as the line room looks at.
    const last = Math.round(1.5 * volume * 7.5);
    const series = tail(last + 1, 20, start, volume, 0.4);
    const fit = fitWashout(series, noEcho, 0, last, prior);
    const now = start * Math.exp(-(last * 8) / 60 / volume);
    // Volumes come from a bank whose steps are about a fifth: half a step either way is a seventh of what is left.
    expect(Math.abs((fit?.excessNtu ?? 0) - now)).toBeLessThan(Math.max(5, 0.004 * start + now / 7));
    // Rest of an exponential: level times volume.
    expect(Math.abs((fit?.restNtuL ?? 0) - now * volume)).toBeLessThan(Math.max(30, 0.4 * now * volume));
  });

  it('holds where the stretch is hundreds of washouts long', () => {
    const fit = fitWashout(tail(240, 20, 300, 0.05, 0.4), noEcho, 0, 239, { ...prior, washoutL: 0.1 });
    expect(Math.abs((fit?.backgroundNtu ?? 0) - 20)).toBeLessThan(0.3);
    expect(Math.abs(fit?.excessNtu ?? 9)).toBeLessThan(0.5);
  });

  it('does not let a tail pass for background', () => {
    const fit = fitWashout(tail(60, 20, 60, 30, 0.4), noEcho, 0, 59, prior);
    expect(fit?.backgroundNtu).toBeLessThan(23);
    expect(fit?.excessNtu).toBeGreaterThan(35);
  });

  it('tells an echo from the tail when it knows its shape', () => {
    const series = new Series();
    const echo = new Float64Array(4096);
    const g = gaussian(5);
    for (let i = 0; i < 150; i += 1) {
      const litres = (i * 8) / 60;
      echo[i] = 400 * Math.exp(-(((i - 80) / 25) ** 2));
      series.push(i, litres, 20 + 100 * Math.exp(-litres / 4) + 0.25 * (echo[i] ?? 0) + 0.4 * g(), 0.4, 0);
    }
    const fit = fitWashout(series, echo, 0, 149, { ...prior, echoShareSd: 0.3, echoPeak: 400 });
    expect(fit?.echoShare).toBeGreaterThan(0.2);
    expect(fit?.echoShare).toBeLessThan(0.3);
  });

  it('tells the slow tail of a hard deposit from the background, and its rest from a washout of the emitter', () => {
    const g = gaussian(7);
    const series = new Series();
    // 8 l/min for three minutes: a washout of 2 l after a peak of 400 NTU, of which 20 go on over five times the litres.
    for (let i = 0; i < 180; i += 1) {
      const litres = (i * 8) / 60;
      const ntu = 20 + 380 * Math.exp(-litres / 2) + 20 * Math.exp(-litres / 10) + 0.4 * g();
      series.push(i, litres, ntu, 0.4, 0);
    }
    const now = 20 * Math.exp(-(179 * 8) / 60 / 10);
    const fit = fitWashout(series, noEcho, 0, 179, { ...prior, washoutL: 2, slowSd: 20 });
    expect(Math.abs((fit?.backgroundNtu ?? 0) - 20)).toBeLessThan(0.5);
    expect(Math.abs((fit?.restNtuL ?? 0) - 10 * now)).toBeLessThan(0.35 * 10 * now);
  });

  it('says nothing of fewer than four readings', () => {
    expect(fitWashout(tail(3, 20, 50, 4, 0.4), noEcho, 0, 2, prior)).toBeNull();
  });
});

describe('forecast', () => {
  it('is the time in which a stirred tank comes to a tenth: 8 l at 8 l/min, 138.2 s (textbook formula)', () => {
    const forecast = forecastOf({
      timeS: 1000,
      phase: 'settling',
      needL: 0,
      excessNtu: 100,
      limitNtu: 10,
      washoutL: 8,
      fitted: null,
      settleNtu: 5,
      litresPerS: 8 / 60,
      echo: { ntu: 0, inL: 0 },
    });
    expect(forecast?.clearAtS).toBeCloseTo(1000 + 138.2, 0);
    expect(forecast?.fromS).toBeLessThan(forecast?.clearAtS ?? 0);
    expect(forecast?.toS).toBeGreaterThan(forecast?.clearAtS ?? 0);
  });

  it('holds the true moment of a plain washout in its interval at least eight times in ten', () => {
    let inside = 0;
    let all = 0;
    for (let seed = 1; seed <= 40; seed++) {
      const tauS = [15, 20, 30, 45][seed % 4] ?? 15;
      const peakNtu = [80, 150, 300, 600, 1200][seed % 5] ?? 80;
      const run = makeRun({ endS: 420, seed, events: oneVisit, pulses: [{ atS: 118, peakNtu, tauS }] });
      const level = (t: number) => peakNtu * (1 - Math.exp(-(t - 118) / 4)) * Math.exp(-(t - 118) / tauS);
      const limitNtu = Math.max(5, 0.05 * Math.max(...Array.from({ length: 300 }, (_, i) => level(118 + i))));
      let trueS = 420;
      while (level(trueS) < limitNtu) trueS -= 0.5;
      const analysis = createAnalysis(run.context, { echoShare: 0, echoShareSd: 0.01 });
      const events = [...run.events];
      for (const sample of run.samples) {
        while (events[0] && events[0].timeS <= sample.timeS) analysis.event(events.shift() ?? events[0]);
        analysis.sample(sample);
        const { forecast } = analysis.verdict;
        if (!forecast || sample.timeS % 5 !== 0 || sample.timeS < 118 || sample.timeS > trueS - 5) continue;
        all++;
        if (forecast.fromS <= trueS && trueS <= forecast.toS) inside++;
      }
    }
    expect(all).toBeGreaterThan(200);
    expect(inside / all).toBeGreaterThanOrEqual(0.8);
  });
});

describe('normal law', () => {
  it('has the tabulated quantiles', () => {
    // Common tables: 1.6449, 2.3263, 3.0902.
    expect(normalQuantile(0.95)).toBeCloseTo(1.6449, 2);
    expect(normalQuantile(0.99)).toBeCloseTo(2.3263, 2);
    expect(normalQuantile(0.999)).toBeCloseTo(3.0902, 2);
    for (const x of [-3, -1, 0, 0.5, 2.2]) expect(normalCdf(x) + normalCdf(-x)).toBeCloseTo(1, 7);
    expect(normalCdf(normalQuantile(0.975))).toBeCloseTo(0.975, 4);
  });
});
