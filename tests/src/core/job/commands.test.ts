import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Answer, type Asked, request } from '../../../../src/core/job/commands.ts';
import { fold } from '../../../../src/core/job/fold.ts';
import { startState } from '../../../../src/core/job/state.ts';
import { messageCodes, say } from '../../../../src/core/message/message.ts';
import { anyEntries, context, folded, type Told, toEntries } from './job-cases.ts';

const ask = (event: string, emitter = '', note = ''): Asked => ({ event, emitter, note });
const asking = { who: 'loopback', timeS: 1000, undoForS: 10 };

const states: Readonly<Record<string, readonly Told[]>> = {
  'nothing told': [],
  'before the emitters': [['stage:warm']],
  'none open': [['stage:emitters']],
  'a open': [['stage:emitters'], ['emitter-open', 'a']],
  'a open, one pass': [['stage:emitters'], ['emitter-open', 'a'], ['agitate-end', 'a']],
  'b skipped': [['stage:emitters'], ['skip', 'b']],
  ended: [['stage:end']],
};

/** What each operation meets in each state: `ok`, or the code of the refusal. */
const table: readonly [state: string, event: string, emitter: string, expected: string][] = [
  ['nothing told', 'emitter-open', 'a', 'job.emitters-not-begun'],
  ['nothing told', 'stage:survey', '', 'ok'],
  ['nothing told', 'stage:emitters', '', 'ok'],
  ['nothing told', 'stage:lunch', '', 'job.unknown-stage'],
  ['nothing told', 'undo', '', 'job.nothing-to-undo'],
  ['before the emitters', 'emitter-open', 'a', 'job.emitters-not-begun'],
  ['before the emitters', 'stage:warm', '', 'already'],
  ['before the emitters', 'agitate-end', '', 'job.none-open'],
  ['none open', 'emitter-open', 'a', 'ok'],
  ['none open', 'emitter-open', 'zz', 'job.unknown-emitter'],
  ['none open', 'emitter-open', '', 'job.which-emitter'],
  ['none open', 'emitter-shut', 'a', 'job.none-open'],
  ['none open', 'agitate-start', '', 'job.none-open'],
  ['none open', 'agitate-end', '', 'job.none-open'],
  ['none open', 'pass-undone', '', 'job.none-open'],
  ['none open', 'override', '', 'job.none-open'],
  ['none open', 'skip', 'a', 'job.skip-why'],
  ['none open', 'skip', '', 'job.skip-why'],
  ['none open', 'note', '', 'ok'],
  ['none open', 'chamber-emptied', '', 'ok'],
  ['none open', 'rig-pump-off', '', 'ok'],
  ['none open', 'emiter-open', 'a', 'job.unknown-event'],
  ['none open', 'samples-kept', '', 'job.unknown-event'],
  ['a open', 'emitter-open', 'a', 'already'],
  ['a open', 'emitter-open', 'b', 'ok'],
  ['a open', 'emitter-shut', 'a', 'ok'],
  ['a open', 'emitter-shut', '', 'ok'],
  ['a open', 'emitter-shut', 'b', 'job.other-open'],
  ['a open', 'agitate-end', 'b', 'job.other-open'],
  ['a open', 'agitate-end', '', 'ok'],
  ['a open', 'pass-undone', '', 'job.no-pass'],
  ['a open', 'skip', 'a', 'job.skip-open'],
  ['a open, one pass', 'pass-undone', '', 'ok'],
  ['b skipped', 'skip', 'b', 'job.skip-why'],
  ['b skipped', 'emitter-open', 'b', 'ok'],
  ['ended', 'rig-pump-on', '', 'job.run-ended'],
  ['ended', 'note', '', 'ok'],
  ['ended', 'stage:hand-over', '', 'ok'],
];

const outcome = (answer: Answer): string =>
  answer.ok ? ('already' in answer ? 'already' : 'ok') : answer.refusal.code;

describe('what may be done now', () => {
  it.each(table)('%s: %s %s -> %s', (state, event, emitter, expected) => {
    const answer = request(folded(states[state] ?? []), ask(event, emitter), asking);
    expect(outcome(answer)).toBe(expected);
  });

  it('counts a second press of Pass done within 3 s as the same one, and says so', () => {
    const state = folded(states['a open, one pass'] ?? []);
    const atS = state.job.passesS.at(-1) ?? 0;
    const press = (timeS: number, data?: Asked['data']) =>
      request(state, { ...ask('agitate-end'), data: { button: true, ...data } }, { ...asking, timeS });
    const same = press(atS + 0.8);
    expect(same).toMatchObject({ ok: true, already: state.log.at(-1)?.id, remark: { params: { apartS: 0.8 } } });
    expect(outcome(press(atS + 2.9))).toBe('already');
    expect(outcome(press(atS + 3))).toBe('ok');
    // One that waited for the link counts by the time of its tap, one of the kit by that of its button.
    expect(outcome(press(atS + 60, { tappedS: atS - 1 }))).toBe('already');
    expect(outcome(press(atS + 60, { pressedS: atS + 1 }))).toBe('already');
    expect(outcome(press(atS + 1, { tappedS: atS - 20 }))).toBe('ok');
    // Told otherwise than by a button, each counts.
    expect(outcome(press(atS + 1, { button: false }))).toBe('ok');
    expect(outcome(request(state, ask('agitate-end'), { ...asking, timeS: atS + 1, who: 'kit' }))).toBe('already');
  });

  it('takes a pass right after one was undone, and at another emitter', () => {
    const one = [...(states['a open, one pass'] ?? [])];
    for (const more of [[['pass-undone', 'a']], [['emitter-open', 'b']]] satisfies Told[][]) {
      const state = folded([...one, ...more]);
      const timeS = (state.log.findLast((e) => e.event.event === 'agitate-end')?.event.timeS ?? 0) + 1;
      expect(outcome(request(state, ask('agitate-end'), { ...asking, timeS }))).toBe('ok');
    }
  });

  it('skips with a reason, once', () => {
    expect(request(folded(states['none open'] ?? []), ask('skip', 'a', 'boxed in'), asking).ok).toBe(true);
    const again = request(folded(states['b skipped'] ?? []), ask('skip', 'b', 'boxed in'), asking);
    expect(again).toMatchObject({ ok: false, refusal: { code: 'job.already-skipped' } });
  });

  it('skips a stage with a reason, which changes nothing but its place on the time line', () => {
    const state = folded(states['none open'] ?? []);
    const answer = request(state, ask('skip', '', 'done yesterday'), asking);
    const after = answer.ok && 'event' in answer ? fold(state, { id: 'n', who: 'x', event: answer.event }) : null;
    expect(after?.job.course.emitters).toMatchObject({ status: 'skipped', why: 'done yesterday' });
    expect({ ...after?.job, course: null }).toEqual({ ...state.job, course: null });
  });

  it('completes the emitter of a pass', () => {
    const answer = request(folded(states['a open'] ?? []), ask('agitate-end'), asking);
    expect(answer).toMatchObject({ ok: true, event: { event: 'agitate-end', emitter: 'a', timeS: 1000 } });
  });

  it('lets only the leader write, once somebody leads', () => {
    const state = folded([['stage:emitters'], ['lead', '', { who: 'tablet one' }]]);
    const by = (who: string, event: string) => {
      const answer = request(state, ask(event, event === 'emitter-open' ? 'a' : ''), { ...asking, who });
      return answer.ok ? 'ok' : answer.refusal.code;
    };
    expect(by('tablet two', 'emitter-open')).toBe('job.not-leading');
    expect(by('tablet two', 'note')).toBe('ok');
    expect(by('tablet two', 'lead')).toBe('ok');
    expect(by('tablet one', 'emitter-open')).toBe('ok');
    expect(by('kit', 'rig-pump-on')).toBe('ok');
  });

  it('writes into the lead who takes it, whatever was sent', () => {
    const answer = request(folded([]), { ...ask('lead'), data: { who: 'somebody else' } }, asking);
    expect(answer).toMatchObject({ ok: true, event: { data: { who: 'loopback' } } });
  });

  it.each([
    ['the newest action, within its time', 25, '', 'ok'],
    ['the newest action, by its id in the note', 25, 'e1', 'ok'],
    ['too late', 31, '', 'job.undo-too-late'],
    ['not the newest', 25, 'e0', 'job.undo-not-last'],
    ['not known', 25, 'nope', 'job.undo-unknown'],
  ])('takes back %s', (_, timeS, id, expected) => {
    const state = folded([['stage:emitters'], ['emitter-open', 'a']]);
    const answer = request(state, ask('undo', '', id), { ...asking, timeS });
    expect(answer.ok ? 'ok' : answer.refusal.code).toBe(expected);
  });

  it('does not take back twice', () => {
    const state = folded([['stage:emitters'], ['emitter-open', 'a'], ['emitter-shut', 'a', { undoes: 'e1' }]]);
    expect(request(state, ask('undo', '', 'e1'), { ...asking, timeS: 31 })).toMatchObject({
      refusal: { code: 'job.undo-twice' },
    });
  });

  it('answers anything in any state, with a sentence for each refusal', () => {
    const start = startState(context);
    fc.assert(
      fc.property(anyEntries, fc.string(), fc.string(), fc.string(), (list, event, emitter, note) => {
        const state = toEntries(list).reduce(fold, start);
        for (const name of [event, 'undo', 'skip', 'agitate-end', 'stage:rinse']) {
          const answer = request(state, ask(name, emitter, note), asking);
          const code = answer.ok ? 'ok' : answer.refusal.code;
          expect(['ok', ...messageCodes]).toContain(code);
          expect(answer.ok ? '' : say(answer.refusal)).not.toContain('undefined');
          const isNew = answer.ok && 'event' in answer;
          const log = isNew ? fold(state, { id: 'n', who: 'x', event: answer.event }).log : state.log;
          expect(log.length - list.length).toBe(isNew ? 1 : 0);
        }
      }),
    );
  });
});
