import { describe, expect, it } from 'vitest';
import { createAnalysis } from '../../../../src/core/analyse.ts';
import { type MadeRun, makeRun, oneVisit } from './made-run.ts';

// Emitter a by its survey: 3 l of pipe and 3 l in the way, 36 s at 10 l/min; a stirred tank of 3 l washes out in 18 s.
const tauS = 18;
/** A pass of which the end alone is told, as most are. */
const endS = 130;
const events = [
  [0, 'stage:baseline', ''],
  [60, 'stage:emitters', ''],
  [61, 'emitter-open', 'a'],
  [endS, 'agitate-end', 'a'],
] as const;

interface Wanted {
  /** When the pulse begins to wash out, and when the verdict is asked. */
  readonly fallS: number;
  readonly atS: number;
  readonly flowLpm?: number | null;
}

/** Litres that the verdict waits for since the end of the pass. */
function neededL({ fallS, atS, flowLpm = 10 }: Wanted): number {
  const pulses = [{ atS: fallS - 8, peakNtu: 300, tauS }];
  return neededAtEndL(makeRun({ endS: atS, events, flowLpm: () => flowLpm, pulses }));
}

function neededAtEndL(run: MadeRun): number {
  const analysis = createAnalysis(run.context);
  const told = [...run.events];
  for (const sample of run.samples) {
    while (told[0] && told[0].timeS <= sample.timeS) analysis.event(told.shift() ?? never());
    analysis.sample(sample);
  }
  return analysis.figures.litresNeededL ?? never();
}

function never(): never {
  throw new Error('There is none.');
}

describe('the fall after a pass', () => {
  // By the survey the fall begins one pipe (18 s) after the end of the pass.
  const fallS = endS + 18;

  it('tells how far the emitter is: the later it comes, the further', () => {
    const near = neededL({ fallS, atS: 210 });
    expect(neededL({ fallS: fallS + 10, atS: 220 })).toBeGreaterThan(1.06 * near);
    expect(neededL({ fallS: fallS + 20, atS: 230 })).toBeGreaterThan(1.12 * near);
  });

  it('shows the way where no flow sensor does: less than was reckoned at a slow usual flow', () => {
    const reckoned = neededL({ fallS, atS: endS + 1, flowLpm: null });
    expect(neededL({ fallS, atS: 210, flowLpm: null })).toBeLessThan(0.7 * reckoned);
  });
});

describe('the front of a pass', () => {
  // The pass was told to begin at 100 s: by the survey its front comes at 118.
  const afterFrontL = (atS: number, peakNtu: number) =>
    neededAtEndL(makeRun({ endS: 175, events: oneVisit, pulses: [{ atS, peakNtu, tauS: 40 }] }));

  it('tells how far the emitter is, and less where it took long to be sure of', () => {
    const movedL = (peakNtu: number) => afterFrontL(132, peakNtu) - afterFrontL(118, peakNtu);
    expect(movedL(300)).toBeGreaterThan(1);
    expect(movedL(8)).toBeGreaterThan(0.5);
    expect(movedL(8)).toBeLessThan(0.8 * movedL(300));
  });
});
