import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { fold } from '../../../../src/core/job/fold.ts';
import { startState } from '../../../../src/core/job/state.ts';
import { lastAction, undoEvent } from '../../../../src/core/job/undo.ts';
import { anyEntries, context, entries, folded, toEntries } from './job-cases.ts';

const start = startState(context);

describe('fold', () => {
  it('goes through a plain visit', () => {
    const { job } = folded([
      ['stage:emitters'],
      ['emitter-open', 'a'],
      ['agitate-end', 'a'],
      ['agitate-end'],
      ['emitter-shut', 'a'],
    ]);
    expect(job.stage).toBe('emitters');
    expect(job.openEmitter).toBeNull();
    expect(job.emitters[0]).toMatchObject({ id: 'a', status: 'shut', openings: 1, passes: 2, openedAtS: 20 });
    expect(job.emitters[1]).toMatchObject({ id: 'b', status: 'to-come', openings: 0 });
  });

  it('shuts the emitter that was open when the next is opened', () => {
    const { job } = folded([['stage:emitters'], ['emitter-open', 'a'], ['agitate-end'], ['emitter-open', 'b']]);
    expect(job.openEmitter).toBe('b');
    expect(job.emitters.map((e) => e.status)).toEqual(['shut', 'open', 'to-come']);
    expect(job.passesS).toEqual([]);
  });

  it('does not count an opening in the rinse as a visit', () => {
    expect(folded([['stage:rinse'], ['emitter-open', 'a']]).job.emitters[0]).toMatchObject({
      status: 'open',
      openings: 0,
    });
  });

  it('takes a pass back by pass-undone', () => {
    const { job } = folded([
      ['stage:emitters'],
      ['emitter-open', 'a'],
      ['agitate-end'],
      ['agitate-end'],
      ['pass-undone'],
    ]);
    expect(job.passesS).toEqual([30]);
    expect(job.emitters[0]?.passes).toBe(1);
  });

  it('keeps an emitter that the context does not know, and events that nobody knows', () => {
    const state = folded([['stage:emitters'], ['emitter-open', 'zz'], ['never-heard-of', 'zz']]);
    expect(state.job.emitters.at(-1)).toMatchObject({ id: 'zz', status: 'open' });
    expect(state.log).toHaveLength(3);
  });

  it('gives a state for any events in any order, with one emitter open at most', () => {
    fc.assert(
      fc.property(anyEntries, (list) => {
        const state = toEntries(list).reduce(fold, start);
        expect(state.log).toHaveLength(list.length);
        const open = state.job.emitters.filter((e) => e.status === 'open').map((e) => e.id);
        expect(open).toEqual(state.job.openEmitter === null ? [] : [state.job.openEmitter]);
        expect(state.job.emitters.every((e) => e.passes >= 0 && e.openings >= 0)).toBe(true);
        expect(state.job.openEmitter !== null || state.job.passesS.length === 0).toBe(true);
      }),
    );
  });

  it('does not change the state it is given', () => {
    fc.assert(
      fc.property(anyEntries, (list) => {
        let state = start;
        for (const entry of toEntries(list)) {
          const before = structuredClone(state);
          const after = fold(state, entry);
          expect(state).toEqual(before);
          state = after;
        }
      }),
      { numRuns: 30 },
    );
  });
});

describe('undo', () => {
  it('is the inverse: the job is as if the action had never been told', () => {
    fc.assert(
      fc.property(anyEntries, (list) => {
        const log = toEntries(list);
        const state = log.reduce(fold, start);
        const last = lastAction(state);
        if (!last) return;
        const before = log.slice(0, log.indexOf(last)).reduce(fold, start);
        const back = fold(state, { id: 'back', who: 'loopback', event: undoEvent(before, last, 99) });
        const without = log.filter((e) => e !== last).reduce(fold, start);
        // Entries that named the one taken back act by themselves once it is gone; leave those cases to the next test.
        fc.pre(!log.some((e) => e.event.data?.['undoes'] === last.id));
        expect(back.job).toEqual(without.job);
        expect(lastAction(back)?.id).not.toBe(last.id);
      }),
    );
  });

  it('can itself be undone', () => {
    const told = entries([
      ['stage:emitters'],
      ['emitter-open', 'a'],
      ['emitter-shut', 'a', { undoes: 'e1' }],
      ['undo', '', { undoes: 'e2' }],
    ]);
    expect(told.slice(0, 3).reduce(fold, start).job.openEmitter).toBeNull();
    expect(told.reduce(fold, start).job.openEmitter).toBe('a');
  });

  it.each([
    [[['stage:emitters'], ['emitter-open', 'a']], 'emitter-shut', 'a'],
    [[['stage:emitters'], ['emitter-open', 'a'], ['emitter-open', 'b']], 'emitter-open', 'a'],
    [[['stage:emitters'], ['emitter-open', 'a'], ['emitter-shut', 'a']], 'emitter-open', 'a'],
    [[['stage:emitters'], ['emitter-open', 'a'], ['agitate-end', 'a']], 'pass-undone', 'a'],
    [[['stage:emitters'], ['stage:circulate']], 'stage:emitters', ''],
    [[['stage:emitters'], ['skip', 'b']], 'undo', 'b'],
    [[['stage:dose'], ['dose', '', { what: 'cleaner', litres: 9 }]], 'undo', ''],
    [[['stage:protect'], ['weighed', '', { grams: 900 }]], 'undo', ''],
    [[['stage:before-samples'], ['sample', '', { water: 'mains', ph: 7 }]], 'undo', ''],
  ] as const)('after %j it says to readers who know nothing of undo: %s %s', (told, event, emitter) => {
    const log = entries(told);
    const last = lastAction(log.reduce(fold, start));
    const before = log.slice(0, -1).reduce(fold, start);
    expect(last && undoEvent(before, last, 99)).toMatchObject({ event, emitter, data: { undoes: log.at(-1)?.id } });
  });

  it('leaves alone what the bridge told by itself', () => {
    const [baseline] = entries([['stage:baseline']]);
    expect(baseline && lastAction(fold(start, { ...baseline, who: 'bridge' }))).toBeNull();
  });
});
