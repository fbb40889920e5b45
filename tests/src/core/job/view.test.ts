import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { request } from '../../../../src/core/job/commands.ts';
import { fold } from '../../../../src/core/job/fold.ts';
import { type JobState, startState } from '../../../../src/core/job/state.ts';
import { trackVerdict, type VerdictSpan } from '../../../../src/core/job/track.ts';
import { type AlarmState, alarmStep, quietAlarms } from '../../../../src/core/alarm/machine.ts';
import type { AlarmKind } from '../../../../src/core/alarm/rules.ts';
import { freshAlarms } from '../../../../src/core/alarm/watch.ts';
import { jobView, type ViewInput } from '../../../../src/core/job/view.ts';
import { jobViewSchema } from '../../../../src/core/job/view-schema.ts';
import { say } from '../../../../src/core/message/message.ts';
import type { Verdict } from '../../../../src/core/line/verdict.ts';
import { analysisOf, anyEntries, context, folded, type Told, toEntries, verdict } from './job-cases.ts';

const head = { runId: 'r', title: 'T', simulated: true, startedAt: '2026-01-02T03:04:05Z', context };
const viewOf = (state: JobState, now: Verdict, timeS = 1000) =>
  jobView({ head, state, analysis: analysisOf(now), spans: [], timeS, undoForS: 10 });

const open: readonly Told[] = [['stage:emitters'], ['emitter-open', 'a']];
const passed: readonly Told[] = [...open, ['agitate-end', 'a']];

describe('the band', () => {
  it.each([
    [open, verdict('watching'), 'watching', 'Watching the return'],
    [passed, verdict('carrying'), 'carrying', 'Dirty water coming'],
    [passed, verdict('settling'), 'settling', 'Falling'],
    [open, verdict('clear'), 'clear', 'Clear: shake it'],
    [passed, verdict('clear'), 'clear', 'Clear: shake again'],
    [passed, verdict('clear', true), 'done', 'Done: shut it'],
    [passed, verdict('cannot-tell'), 'cannot-tell', 'Cannot tell'],
    [[['stage:emitters']] as const, verdict('idle'), 'idle', 'Open an emitter'],
    [[['stage:warm']] as const, verdict('idle'), 'idle', 'Warm up'],
    [[] as const, verdict('idle'), 'idle', 'Not begun'],
  ])('%j and %j: %s, "%s"', (told, now, kind, words) => {
    const { band } = viewOf(folded(told), now);
    expect(band).toMatchObject({ kind, words });
  });

  it.each([
    ['over-range', 'Wait; do not go by the last verdict', false],
    ['folded', 'Wait; do not go by the last verdict', false],
    ['restarted', 'Wait; do not go by the last verdict', false],
    ['other-kit', 'Shake it, then press Pass done', true],
    ['stuck', 'Look at the rig; do not go by the last verdict', false],
  ])('of a verdict that cannot be told asks for what ends it: %s', (code, doNow, isPassAsked) => {
    const blind = { ...verdict('cannot-tell'), reason: { code, figures: {} } };
    const { band, buttons } = viewOf(folded(passed), blind);
    expect(band.doNow).toBe(doNow);
    expect(buttons.find((b) => b.event === 'agitate-end')?.primary).toBe(isPassAsked);
  });

  it('is read at two metres: at most 30 letters, two lines', () => {
    for (const state of ['watching', 'carrying', 'settling', 'clear', 'cannot-tell'] as const)
      for (const done of [false, state === 'clear'])
        expect(viewOf(folded(passed), verdict(state, done)).band.words.length).toBeLessThanOrEqual(30);
  });

  it('says what the emitters came to when none is left to open, and calls none worked on that was skipped', () => {
    const skipped: readonly Told[] = [['stage:emitters'], ['skip', 'b'], ['skip', 'c']];
    const left = viewOf(folded([...skipped, ['emitter-open', 'a'], ['emitter-shut', 'a']]), verdict('idle')).band;
    expect(left).toMatchObject({
      words: '0 done, 3 not',
      reason: 'No emitter is left to open: 0 done, 1 left, 2 skipped.',
      doNow: 'Go on to the next stage, or open one again',
    });
    const words = (done: number, leftN: number, skippedN: number) =>
      say({ code: 'band.worked-on', params: { done, left: leftN, skipped: skippedN } });
    expect([words(1, 0, 6), words(5, 2, 0), words(7, 0, 0)]).toEqual(['1 done, 6 skipped', '5 done, 2 left', '7 done']);
  });

  it('says of the last emitter that it is the last', () => {
    const last = folded([
      ['stage:emitters'],
      ['skip', 'b'],
      ['skip', 'c'],
      ['emitter-open', 'a'],
      ['agitate-end', 'a'],
    ]);
    expect(viewOf(last, verdict('clear', true)).band.words).toBe('Done: shut it');
  });

  it('shows the verdict of the rinse during the rinse', () => {
    const rinse = { clearAtS: 5, withheld: false, verdict: verdict('clear') };
    const view = jobView({
      head,
      state: folded([['stage:rinse']]),
      analysis: analysisOf(verdict('idle'), { rinse }),
      spans: [],
      timeS: 9,
      undoForS: 10,
    });
    expect(view.band.words).toBe('At mains level');
    expect(view.verdict.state).toBe('clear');
  });
});

describe('under an alarm that comes before all other work', () => {
  /** The alarm of this kind, three looks after its trouble began; then what was done, and a look without the trouble. */
  function alarmed(kind: AlarmKind, ...then: readonly ('acknowledge' | 'calm')[]): NonNullable<ViewInput['alarms']> {
    let atS = 0;
    const look = (state: AlarmState, isOn: boolean) =>
      alarmStep(state, { type: 'look', atS: (atS += 20), conditions: { [kind]: { isOn, figures: {}, because: '' } } })
        .state;
    let state = [true, true, true].reduce(look, quietAlarms);
    for (const next of then)
      state =
        next === 'acknowledge'
          ? alarmStep(state, { type: 'acknowledge', atS, kind }).state
          : [false, false, false].reduce(look, state);
    return { memory: { ...freshAlarms, alarms: state }, heard: 1 };
  }
  const under = (told: readonly Told[], now: Verdict, alarms: NonNullable<ViewInput['alarms']>) =>
    jobView({ head, state: folded(told), analysis: analysisOf(now), spans: [], timeS: 1000, undoForS: 10, alarms });

  it.each([
    [open, verdict('clear'), 'Clear'],
    [passed, verdict('clear'), 'Clear'],
    [passed, verdict('clear', true), 'Done'],
    [passed, verdict('carrying'), 'Dirty water coming'],
    [[['stage:fill']] as const, verdict('idle'), 'Fill cold'],
  ])('the band keeps to the water and asks for the alarm first: %j and %j, "%s"', (told, now, words) => {
    const { band, buttons } = under(told, now, alarmed('pressure-high'));
    expect(band).toMatchObject({ words, doNow: 'First do what the alarm says' });
    expect(buttons.filter((b) => b.primary)).toEqual([]);
  });

  it.each([
    ['pressure-high', [], true],
    ['pressure-high', ['acknowledge'], true],
    ['pressure-high', ['calm'], false],
    ['too-hot', [], true],
    ['too-hot', ['acknowledge'], false],
    ['leak', [], true],
    ['chamber-full', [], false],
  ] as const)('%s, then %j: first %s', (kind, then, isFirst) => {
    const { band } = under(passed, verdict('clear'), alarmed(kind, ...then));
    expect(band.words).toBe(isFirst ? 'Clear' : 'Clear: shake again');
  });

  it('what cannot be told says what it did: look at the rig', () => {
    const { band } = under(passed, verdict('cannot-tell'), alarmed('pressure-high'));
    expect(band.doNow).toBe('Look at the rig; do not go by the last verdict');
  });
});

describe('the buttons', () => {
  it('offers the pass first until the emitter is done, then the next', () => {
    const before = viewOf(folded(passed), verdict('clear')).buttons;
    expect(before.map((b) => [b.label, b.hold, b.primary])).toEqual([
      ['Pass done', false, true],
      ['Shut and open Bath', true, false],
      ['Shut Attic', true, false],
    ]);
    const after = viewOf(folded(passed), verdict('clear', true)).buttons;
    expect(after.find((b) => b.primary)).toMatchObject({ event: 'emitter-open', emitter: 'b', hold: false });
  });

  it('asks for a pass by its colour only when the words ask to shake, and offers it all the same', () => {
    for (const list of [open, passed])
      for (const state of ['idle', 'watching', 'carrying', 'settling', 'clear', 'cannot-tell'] as const) {
        const { band, buttons } = viewOf(folded(list), verdict(state));
        const pass = buttons.find((b) => b.event === 'agitate-end');
        expect(pass?.primary).toBe(band.doNow.startsWith('Shake it'));
      }
  });

  it('asks why before an emitter is skipped: no reason stands in the record that nobody gave', () => {
    const skip = viewOf(folded([['stage:emitters']]), verdict('idle')).buttons.find((b) => b.event === 'skip');
    expect(skip).toMatchObject({ why: true, note: '' });
  });

  it('never offers what would be refused, nor more than three, in any state and under any verdict', () => {
    const start = startState(context);
    const anyVerdict = fc.constantFrom(
      verdict('idle'),
      verdict('watching'),
      verdict('carrying'),
      verdict('clear'),
      verdict('clear', true),
      verdict('cannot-tell'),
    );
    fc.assert(
      fc.property(anyEntries, anyVerdict, (list, now) => {
        const state = toEntries(list).reduce(fold, start);
        // The lead is a matter of who looks; the buttons are those of the one who leads.
        const who = state.job.lead ?? 'loopback';
        const view = viewOf(state, now, 31);
        expect(jobViewSchema.safeParse(view).success).toBe(true);
        expect(view.buttons.filter((b) => b.primary).length).toBeLessThanOrEqual(1);
        for (const { event, emitter, note, why } of view.buttons) {
          const missing = view.stagePage?.missing ?? [];
          const asked = { event, emitter, note: why ? 'for a reason' : note };
          const answer = request(state, asked, { who, timeS: 31, undoForS: 10, missing });
          expect(answer.ok ? 'ok' : answer.refusal).toBe('ok');
        }
        const undo = { event: 'undo', emitter: '', note: view.undo?.id ?? '' };
        const undone = request(state, undo, { who, timeS: 31, undoForS: 10 });
        expect(view.undo === null || undone.ok).toBe(true);
      }),
    );
  });
});

describe('the rest of the view', () => {
  it('offers to undo for ten seconds', () => {
    expect(viewOf(folded(open), verdict('watching'), 29).undo).toEqual({ id: 'e1', label: 'Opened Attic', untilS: 30 });
    expect(viewOf(folded(open), verdict('watching'), 30.1).undo).toBeNull();
  });

  it('leaves out figures that are not known, which JSON could not carry', () => {
    const now = { ...verdict('watching'), reason: { code: 'x', figures: { a: Number.NaN, b: Infinity, c: 1 } } };
    expect(viewOf(folded(open), now).verdict.reason.figures).toEqual({ c: 1 });
  });

  it('keeps the spans in which nothing could be told', () => {
    const spans: VerdictSpan[] = [];
    trackVerdict(spans, { ...verdict('watching'), sinceS: 1 });
    trackVerdict(spans, { ...verdict('cannot-tell'), sinceS: 4 });
    trackVerdict(spans, { ...verdict('cannot-tell'), sinceS: 4 });
    trackVerdict(spans, { ...verdict('watching'), sinceS: 9 });
    const view = jobView({
      head,
      state: folded(open),
      analysis: analysisOf(verdict('watching')),
      spans,
      timeS: 20,
      undoForS: 10,
    });
    expect(view.withheldSpans.map(({ fromS, toS }) => [fromS, toS])).toEqual([[4, 9]]);
  });
});
