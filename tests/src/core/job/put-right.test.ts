import { describe, expect, it } from 'vitest';
import { eventLabel } from '../../../../src/core/job/buttons.ts';
import { request } from '../../../../src/core/job/commands.ts';
import { contextNow } from '../../../../src/core/job/context-now.ts';
import { typedEntries } from '../../../../src/core/job/correct.ts';
import { fold } from '../../../../src/core/job/fold.ts';
import { stagePage, typedView } from '../../../../src/core/job/stages/page.ts';
import type { JobState } from '../../../../src/core/job/state.ts';
import { counted, lastAction } from '../../../../src/core/job/undo.ts';
import { say } from '../../../../src/core/message/message.ts';
import { context } from './job-cases.ts';
import { type Data, label, look, type Step, told } from './stage-cases.ts';

const late = { who: 'tablet', timeS: 5000, undoForS: 10 };
const ask = (event: string, data: Data, note = '') => ({ event, emitter: '', note, data });

/** The state after it was asked for, as the bridge commits it. */
function after(state: JobState, event: string, data: Data, note = ''): JobState {
  const answer = request(state, ask(event, data, note), late);
  if (!answer.ok || !('event' in answer)) throw new Error(answer.ok ? 'already so' : say(answer.refusal));
  return fold(state, { id: `late${state.log.length}`, who: 'tablet', event: answer.event });
}
const refused = (state: JobState, event: string, data: Data, note = ''): string => {
  const answer = request(state, ask(event, data, note), late);
  return answer.ok ? '' : answer.refusal.code;
};

const dose = (litres: number, what = 'cleaner'): Step => ['dose', '', { what, litres }];
const slip = told([['stage:dose'], label('cleaner'), dose(0.4), dose(50)]);
const right = (state: JobState, id: string, data: Data) => after(state, 'corrected', { corrects: id, ...data });

describe('what was typed wrong', () => {
  it('is put right at any later time: sums and rules go by the right figure, at the time of the wrong one', () => {
    expect(look(slip).worked.added.cleaner).toBe(50.4);
    expect(stagePage(look(slip), say)?.warnings[0]).toMatch(/^Far too much cleaner.*Put it right/);
    const put = right(slip, 'e3', { litres: 0.5 });
    expect(put.job.doses).toEqual([
      { timeS: 30, what: 'cleaner', litres: 0.4 },
      { timeS: 40, what: 'cleaner', litres: 0.5 },
    ]);
    expect(stagePage(look(put), say)?.warnings).toEqual([]);
  });

  it('stays in the log beside what is right', () => {
    const put = right(slip, 'e3', { litres: 0.5 });
    expect(put.log.slice(-2).map((e) => e.event.data)).toEqual([
      { what: 'cleaner', litres: 50 },
      { what: 'cleaner', litres: 0.5, corrects: 'e3', of: 'dose' },
    ]);
  });

  it('can be put right again, and each of these is taken back for ten seconds like any action', () => {
    const twice = right(right(slip, 'e3', { litres: 5 }), 'e3', { litres: 0.5 });
    expect(look(twice).worked.added.cleaner).toBe(0.9);
    const last = lastAction(twice);
    expect(last && say(eventLabel(last, []))).toBe('Put right: cleaner');
    const back = after(twice, 'undo', {}, last?.id);
    expect(look(back).worked.added.cleaner).toBe(5.4);
  });

  it('can be taken back as a whole at any later time, whatever was done since', () => {
    const gone = after(fold(slip, { ...slip.log[0]!, id: 'more' }), 'undo', {}, 'e3');
    expect(look(gone).worked.added.cleaner).toBe(0.4);
    expect(refused(gone, 'undo', {}, 'e3')).toBe('job.undo-twice');
    expect(refused(gone, 'corrected', { corrects: 'e3', litres: 1 })).toBe('job.correct-undone');
  });

  it('is put right after the end of the run, too: until the record is sealed', () => {
    const ended = told([label('cleaner'), dose(50), ['stage:end']]);
    expect(refused(ended, 'corrected', { corrects: 'e1', litres: 0.5 })).toBe('');
  });

  it('keeps to what it is of, and to what is possible', () => {
    expect(right(slip, 'e3', { litres: 0.5, what: 'inhibitor' }).job.doses.at(-1)?.what).toBe('cleaner');
    expect(refused(slip, 'corrected', { corrects: 'e3', litres: 5000 })).toBe('job.typed-wrong');
    expect(refused(slip, 'corrected', { corrects: 'e0', litres: 1 })).toBe('job.correct-unknown');
    expect(refused(slip, 'corrected', { corrects: 'none', litres: 1 })).toBe('job.correct-unknown');
  });

  it.each<[string, Step, Data, (s: JobState) => unknown, unknown]>([
    [
      'a water test',
      ['sample', '', { water: 'mains', conductivity: 4200 }],
      { conductivity: 420 },
      (s) => contextNow(context, s.job).mains.conductivity_us_cm,
      420,
    ],
    [
      'a system volume by the meter',
      ['typed', '', { what: 'fill-litres', value: 950 }],
      { value: 95 },
      (s) => look(s).worked.filled?.value,
      95,
    ],
    [
      'a reading by hand',
      ['typed', '', { what: 'rinse-ntu', value: 12 }],
      { value: 1.2 },
      (s) => s.job.entries['typed rinse-ntu']?.data,
      { what: 'rinse-ntu', value: 1.2 },
    ],
    [
      'a label',
      ['label', '', { what: 'cleaner', amount: 10, unit: 'l/100 l' }],
      { amount: 1, unit: 'l/100 l' },
      (s) => look(s).worked.rates.cleaner?.amount,
      1,
    ],
    [
      'a limit',
      ['limit', '', { item: 'ph', most: 14 }],
      { item: 'ph', most: 9 },
      (s) => s.job.limitChanges[0]?.most,
      9,
    ],
    [
      'sludge',
      ['weighed', '', { grams: 9000, how: 'wet' }],
      { grams: 900, how: 'wet' },
      (s) => s.job.weighed[0]?.grams,
      900,
    ],
  ])('may be %s', (_, wrong, data, read, figure) => {
    expect(read(right(told([wrong, ['stage:rinse']]), 'e0', data))).toEqual(figure);
  });
});

describe('what the page offers to put right', () => {
  it('is all that was typed and counts, newest first, each as it stands now', () => {
    const state = told([
      ['typed', '', { what: 'fill-litres', value: 90 }],
      ['typed', '', { what: 'fill-litres', value: 95 }],
      dose(0.4),
      dose(50),
      ['agitate-end'],
      ['weighed', '', { grams: 900, how: 'wet' }],
    ]);
    const put = right(after(state, 'undo', {}, 'e5'), 'e3', { litres: 0.5 });
    expect(typedView(put.log).map(({ id, form }) => [id, form.title, form.last])).toEqual([
      ['e3', 'Litres of cleaner added', { what: 'cleaner', litres: 0.5 }],
      ['e2', 'Litres of cleaner added', { what: 'cleaner', litres: 0.4 }],
      ['e1', 'Litres by the water meter', { what: 'fill-litres', value: 95 }],
    ]);
  });

  it('holds nothing that nobody typed', () => {
    expect(typedEntries(told([['stage:dose'], ['emitter-open', '', undefined, 'a']]).log)).toEqual([]);
  });

  it('counts a log from elsewhere as well: what names nothing that was typed changes nothing', () => {
    const log = told([dose(1), ['stage:warm'], ['corrected', '', { corrects: 'e1', litres: 9 }]]).log;
    expect(counted(log).entries.map((e) => e.event.event)).toEqual(['dose', 'stage:warm', 'corrected']);
  });
});
