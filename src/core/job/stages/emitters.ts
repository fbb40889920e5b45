import { need, type StageSpec } from './stage.ts';

/** The heart of the run has a page of its own; here is only what it needs to be left. */
export const emitters: StageSpec = {
  name: 'emitters',
  steps: () => [
    'Open one emitter, shut all others.',
    'Shake its lower edge in four to five sweeps, press Pass done, and watch the return.',
    'Repeat until a pass brings nothing; then the next.',
  ],
  cautions: ['scald', 'vibration', 'brittle'],
  gate: ({ job, visits }) => {
    const isDone = (id: string): boolean => visits.findLast((v) => v.emitter === id)?.verdict.done === true;
    const left = job.emitters.filter((e) => e.status !== 'skipped' && !(e.status === 'shut' && isDone(e.id)));
    return left.length === 0 ? [] : [need('emitters', { count: left.length })];
  },
};
