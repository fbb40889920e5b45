import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { familyNames, simulateRun } from '../../../simulators/dataset.ts';
import { analyseRecording, type RecordedEvent } from '../../../src/core/analyse-recording.ts';
import type { RunContext } from '../../../src/core/job/context.ts';
import type { RunEvent } from '../../../src/core/job/event.ts';
import { surveyOfContext, textOfSurvey } from '../../../src/core/job/survey-rows.ts';

/** What an engineer may learn of the system while the run goes on: each changes what the verdict goes by. */
function learned(context: RunContext, atS: readonly [number, number, number]): RunEvent[] {
  const emitters = context.emitters.map((e) => ({ ...e, volume_l: 1.6 * e.volume_l }));
  const csv = textOfSurvey(surveyOfContext({ ...context, emitters }));
  const event = (timeS: number, name: string, data: RunEvent['data']) => {
    return { timeS, event: name, emitter: '', note: '', data };
  };
  return [
    event(atS[0], 'survey-table', { csv }),
    event(atS[1], 'typed', { what: 'rinse-over-ntu', value: 12 }),
    event(atS[2], 'sample', { which: 'mains', turbidity: 3, conductivity: 700 }),
  ];
}

describe('what is said before a cut is what is said without it', () => {
  const kinds = ['ordinary', 'second-turbidity', 'saturation', 'fold-back', 'stuck', 'dark', 'fouling', 'coarse'];
  const more = [
    'no-flow-meter',
    'restarts',
    'two-open',
    'pump-stops',
    'untold',
    'rinse',
    'rinse-rounds',
    'rinse-mains-lost',
  ];
  it.each([...kinds, ...more])('%s', (family) => {
    expect(familyNames).toContain(family);
    const run = simulateRun(family, 5, { visits: 2 });
    const endS = run.samples.at(-1)?.timeS ?? 0;
    const time = fc.double({ min: 0, max: endS, noNaN: true });
    fc.assert(
      fc.property(fc.tuple(time, time, time), time, (learnedS, cutS) => {
        const events = [...run.events, ...learned(run.context, learnedS)].sort((a, b) => a.timeS - b.timeS);
        const whole = analyseRecording(run.context, run.samples, events);
        const cut = analyseRecording(
          run.context,
          run.samples.filter((s) => s.timeS <= cutS),
          events.filter((e) => e.timeS <= cutS),
        );
        // The last second before the cut is not over yet: what it would say is said after it.
        const untilS = cutS - 1;
        for (const [i, visit] of cut.visits.entries()) {
          const later = whole.visits[i];
          const shown = (clears: typeof visit.clears = []) =>
            clears.flatMap(({ from_s, to_s }) => {
              const goneS = to_s !== null && to_s <= untilS ? to_s : null;
              return from_s <= untilS ? [[from_s, goneS]] : [];
            });
          expect(shown(visit.clears)).toEqual(shown(later?.clears));
          expect(visit.pulses.filter((p) => p.said_s <= untilS).map((p) => [p.onset_s, p.said_s])).toEqual(
            later?.pulses.filter((p) => p.said_s <= untilS).map((p) => [p.onset_s, p.said_s]),
          );
        }
        // A visit that is over stays as it was, to the last figure.
        expect(cut.visits.slice(0, -1)).toEqual(whole.visits.slice(0, Math.max(0, cut.visits.length - 1)));
        const atMainsS = whole.rinse?.clear_at_s ?? null;
        const isSaid = atMainsS !== null && atMainsS <= untilS;
        expect(isSaid ? cut.rinse?.clear_at_s : atMainsS).toBe(atMainsS);
      }),
      { numRuns: 3 },
    );
  });

  it('what was taken back counts no more, by the id that names it', () => {
    const run = simulateRun('ordinary', 5, { visits: 1 });
    const [survey] = learned(run.context, [1, 1, 1]);
    if (!survey) throw new Error('no survey');
    const undone = { ...survey, timeS: 2, event: 'survey-remove', data: { undoes: 'told' } };
    const told = (events: readonly RecordedEvent[]) => analyseRecording(run.context, run.samples, events).visits;
    expect(told([{ ...survey, id: 'told' }, ...run.events])).not.toEqual(told(run.events));
    expect(told([{ ...survey, id: 'told' }, { ...undone, id: 'undo' }, ...run.events])).toEqual(told(run.events));
  });

  it('what the engineer learns does change what is said after it', () => {
    const run = simulateRun('rinse', 5, { visits: 1 });
    const told = (events: readonly RunEvent[]) => analyseRecording(run.context, run.samples, events);
    const fromS = run.events.find((e) => e.event === 'stage:rinse')?.timeS ?? 0;
    const openS = run.events.find((e) => e.event === 'emitter-open')?.timeS ?? 0;
    const [plain, taught] = [
      told(run.events),
      told([...run.events, ...learned(run.context, [openS - 1, fromS, fromS])]),
    ];
    expect(taught.visits[0]?.reason.figures['litresNeededL']).toBeGreaterThan(
      plain.visits[0]?.reason.figures['litresNeededL'] ?? Number.NaN,
    );
    expect(plain.rinse?.clear_at_s).not.toBeNull();
    expect(taught.rinse?.clear_at_s).toBeLessThan(plain.rinse?.clear_at_s ?? 0);
    const late = told([...run.events, ...learned(run.context, [fromS, fromS, fromS])]);
    expect(late.visits).toEqual(plain.visits);
  });
});
