import { describe, expect, it } from 'vitest';
import { analyseRecording } from '../../../../src/core/analyse-recording.ts';
import { Ceiling } from '../../../../src/core/line/ceiling.ts';
import { gaussian, makeRun } from './made-run.ts';

/** A sensor that reads highest, 500 NTU, in water of 1000, and less beyond. */
const folded = (ntu: number): number => ntu / (1 + (ntu / 1000) ** 2);

/** A pulse each 200 s that rises with 12 s and washes out with 25 s. */
const pulses = (peaks: readonly number[], t: number): number =>
  peaks.reduce((sum, peak, i) => {
    const age = t - 200 * i - 20;
    return age > 0 ? sum + peak * (1 - Math.exp(-age / 12)) * Math.exp(-age / 25) : sum;
  }, 10);

/** Seconds in which the reading was said to stand at a top. */
function atTop(peaks: readonly number[], sensor: (ntu: number) => number): number[] {
  const ceiling = new Ceiling();
  const noise = gaussian(3);
  const out: number[] = [];
  for (let t = 0; t < 200 * peaks.length; t += 1) {
    const ntu = sensor(pulses(peaks, t));
    if (ceiling.step(ntu * (1 + 0.015 * noise()))) out.push(t);
  }
  return out;
}

describe('the top of a range that folds back', () => {
  it('is found where heavy pulses have one height, and most have it twice', () => {
    const tops = atTop([12000, 8000, 10000, 9000], folded);
    expect(tops.length).toBeGreaterThan(0);
    // With the fourth pulse at the latest, and only where the reading is near its highest.
    expect(Math.min(...tops)).toBeLessThan(800);
    for (const t of tops) expect(folded(pulses([12000, 8000, 10000, 9000], t))).toBeGreaterThan(0.85 * 500);
  });

  it('is none where the water itself differs from pulse to pulse', () => {
    expect(atTop([400, 300, 220, 500, 390, 260, 180, 470, 300, 410], (ntu) => ntu)).toEqual([]);
  });

  it('is none of clean water, however alike its pulses', () => {
    expect(
      atTop(
        Array.from({ length: 8 }, () => 60),
        (ntu) => ntu,
      ),
    ).toEqual([]);
  });

  it('lets a pass be held against what its pulse was, not against the top', () => {
    // 5 % of 4500 NTU are far over 5 % of the 500 that are read at most.
    const visits = Array.from({ length: 6 }, (_, i) => 61 + 400 * i);
    const run = makeRun({
      endS: 2460,
      backgroundNtu: 10,
      noiseNtu: 1,
      events: [
        [0, 'stage:baseline', ''],
        [60, 'stage:emitters', ''],
        ...visits.flatMap((t) => [
          [t, 'emitter-open', 'a'] as const,
          [t + 40, 'agitate-start', 'a'] as const,
          [t + 60, 'agitate-end', 'a'] as const,
          [t + 390, 'emitter-shut', 'a'] as const,
        ]),
      ],
      pulses: visits.map((t) => ({ atS: t + 60, peakNtu: 6000, tauS: 30 })),
      reading: folded,
    });
    const found = analyseRecording(run.context, run.samples, run.events, {
      settings: { echoShare: 0, echoShareSd: 0.01 },
    }).visits;
    const limits = found.map((v) => v.reason.figures['limitNtu'] ?? 0);
    expect(limits[5]).toBeGreaterThan(1.5 * (limits[0] ?? 0));
    expect(limits[5]).toBeLessThan(0.05 * 6000);
    for (const visit of found) expect(visit.clear_at_s).not.toBeNull();
  });
});
