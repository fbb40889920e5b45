import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { request } from '../../../../src/core/job/commands.ts';
import type { RunContext } from '../../../../src/core/job/context.ts';
import { contextOfEvents } from '../../../../src/core/job/context-now.ts';
import { type StageName, stageNames } from '../../../../src/core/job/event.ts';
import { fold } from '../../../../src/core/job/fold.ts';
import { cautions } from '../../../../src/core/job/stages/cautions.ts';
import { type LiveFigures, noFigures, StageLive } from '../../../../src/core/job/stages/live.ts';
import { gateOf, pauseReasons, reasons } from '../../../../src/core/job/stages/page.ts';
import { stageSpecs } from '../../../../src/core/job/stages/table.ts';
import { type JobState, startState } from '../../../../src/core/job/state.ts';
import { jobView, lookOf } from '../../../../src/core/job/view.ts';
import { jobViewSchema } from '../../../../src/core/job/view-schema.ts';
import { emptySample, type Sample } from '../../../../src/core/quantity/sample.ts';
import { analysisOf, context, verdict } from './job-cases.ts';

type Data = Readonly<Record<string, string | number | boolean>>;
type Step = readonly [event: string, note?: string, data?: Data | undefined, emitter?: string];

function told(steps: readonly Step[], begun: RunContext = context): JobState {
  return steps
    .map(([event, note = '', data, emitter = ''], i) => ({
      id: `e${i}`,
      who: 'loopback',
      event: { timeS: (i + 1) * 10, event, emitter, note, ...(data ? { data } : {}) },
    }))
    .reduce(fold, startState(begun));
}

const look = (state: JobState, live: LiveFigures = noFigures, rinse = verdict('idle'), begun = context) =>
  lookOf({
    head: { context: begun },
    state,
    live,
    timeS: 1e4,
    analysis: analysisOf(verdict('idle'), { rinse: { clearAtS: null, withheld: false, verdict: rinse } }),
  });
const missing = (...args: Parameters<typeof look>): string[] => gateOf(look(...args)).map((m) => m.code);

/** A live figure set as a kit would give it. */
function measured(now: Partial<LiveFigures['now']>, more: Partial<LiveFigures> = {}): LiveFigures {
  const keys = (['flowLpm', 'pressureBar', 'returnC', 'conductivityUsCm', 'turbidityNtu'] as const).filter(
    (k) => now[k] !== undefined,
  );
  return { ...noFigures, now: { ...noFigures.now, ...now }, seen: new Set(keys), ...more };
}

const label = (what: string): Step => ['label', '', { what, amount: 1, unit: 'l/100 l' }];
const tick = (id: string): Step => ['check', id, { done: true }];
const read = (id: string): Step => ['caution-read', id];
const joined: readonly Step[] = [tick('rig-in-line'), tick('return-low'), tick('hoses-tight')];
const steady = Array.from({ length: 301 }, (_, i) => ({ timeS: i, bar: 1.05, celsius: 20 }));
const falling = steady.map((p) => ({ ...p, bar: 1.05 - p.timeS * 0.0005 }));
const ran = (minutes: number) => ({ countedS: 60 * minutes, isRunning: true, stops: [], lostS: {} });
const vented: RunContext = { ...context, system: 'open-vented' };

/** Each gate shut, then open: what is told and measured, and what is missing. */
const gates: readonly [StageName, string, readonly Step[], LiveFigures, readonly string[], string?][] = [
  ['survey', 'without a label rate', [], noFigures, ['stage.rate']],
  ['survey', 'with it', [label('cleaner')], noFigures, []],
  [
    'survey',
    'without emitters',
    ['a', 'b', 'c'].map((id): Step => ['survey-remove', '', { id }]),
    noFigures,
    ['stage.survey-emitter'],
  ],
  ['before-samples', 'untested', [], noFigures, ['stage.mains']],
  ['before-samples', 'system only', [['sample', '', { water: 'before', ph: 7 }]], noFigures, ['stage.mains']],
  ['before-samples', 'mains tested', [['sample', '', { water: 'mains', conductivity: 400 }]], noFigures, []],
  ['join', 'nothing done', [], measured({ pressureBar: 1 }), ['stage.tick', 'stage.tick', 'stage.tick', 'stage.hold']],
  ['join', 'held, tight', [...joined, ['hold-start']], measured({ pressureBar: 1 }, { holdPoints: steady }), []],
  [
    'join',
    'held, leaking',
    [...joined, ['hold-start']],
    measured({ pressureBar: 1 }, { holdPoints: falling }),
    ['stage.hold-leak'],
  ],
  ['join', 'no pressure sensor', [...joined], noFigures, ['stage.tick']],
  ['join', 'no pressure sensor, joints watched', [...joined, tick('joints-dry')], noFigures, []],
  ['fill', 'too low', [read('filling-loop')], measured({ pressureBar: 0.4 }), ['stage.fill-low']],
  ['fill', 'inside, filling loop not confirmed', [], measured({ pressureBar: 1.1 }), ['stage.caution']],
  ['fill', 'inside', [read('filling-loop')], measured({ pressureBar: 1.1 }), []],
  ['fill', 'near the relief valve', [read('filling-loop')], measured({ pressureBar: 2.8 }), ['stage.fill-high']],
  ['fill', 'no sensor', [read('filling-loop')], noFigures, ['stage.fill-unknown']],
  ['fill', 'gauge typed', [read('filling-loop'), ['typed', '', { what: 'fill-bar', value: 1.2 }]], noFigures, []],
  ['dose', 'not dosed', [], noFigures, ['stage.dose']],
  [
    'dose',
    'no conductivity, contact running',
    [['dose', '', { what: 'cleaner', litres: 1 }]],
    measured({}, { contact: ran(5) }),
    ['stage.contact'],
  ],
  [
    'dose',
    'no conductivity, contact over',
    [['dose', '', { what: 'cleaner', litres: 1 }]],
    measured({}, { contact: ran(21) }),
    [],
  ],
  ['warm', 'cold', [], measured({ returnC: 30 }), ['stage.warm']],
  ['warm', 'warm', [], measured({ returnC: 41 }), []],
  ['warm', 'typed', [['typed', '', { what: 'return-c', value: 42 }]], noFigures, []],
  ['half-fill', 'not confirmed', [], noFigures, ['stage.tick']],
  ['half-fill', 'confirmed', [tick('half-filled')], noFigures, []],
  ['emitters', 'left', [['skip', 'no', undefined, 'a']], noFigures, ['stage.emitters']],
  ['emitters', 'all skipped', ['a', 'b', 'c'].map((id): Step => ['skip', 'no', undefined, id]), noFigures, []],
  [
    'circulate',
    'clock short',
    [tick('emitters-full'), tick('all-open'), read('isolation'), read('foul-drain')],
    measured({}, { circulated: ran(12) }),
    ['stage.circulate'],
  ],
  [
    'circulate',
    'cautions unread',
    [tick('emitters-full'), tick('all-open')],
    measured({}, { circulated: ran(20) }),
    ['stage.caution', 'stage.caution'],
  ],
  [
    'circulate',
    'done',
    [tick('emitters-full'), tick('all-open'), read('isolation'), read('foul-drain')],
    measured({}, { circulated: ran(20) }),
    [],
  ],
  ['rinse', 'dirty', [], measured({ turbidityNtu: 60 }), ['stage.rinse']],
  ['rinse', 'no sensors, nothing typed', [], noFigures, ['stage.rinse-typed']],
  [
    'rinse',
    'no sensors, typed at mains level',
    [
      ['typed', '', { what: 'rinse-ntu', value: 2 }],
      ['typed', '', { what: 'rinse-us-cm', value: 410 }],
    ],
    noFigures,
    [],
  ],
  ['after-samples', 'untested', [], noFigures, ['stage.after-test']],
  ['after-samples', 'outside', [['sample', '', { water: 'after', ph: 6 }]], noFigures, ['stage.outside']],
  ['after-samples', 'inside', [['sample', '', { water: 'after', ph: 8.8 }]], noFigures, []],
  ['protect', 'nothing', [], noFigures, ['stage.tick', 'stage.tick', 'stage.tick', 'stage.dose']],
  [
    'protect',
    'done',
    [tick('rig-off'), tick('vented'), tick('each-heats'), ['dose', '', { what: 'inhibitor', litres: 1 }]],
    noFigures,
    [],
  ],
  ['hand-over', 'unsigned', [], noFigures, ['stage.signed']],
  ['hand-over', 'signed', [['hand-over', '', { engineer: 'A. Fitter' }]], noFigures, []],
];

describe('the gates', () => {
  it.each(gates)('of %s, %s', (stage, _, steps, live, expected) => {
    expect(missing(told([[`stage:${stage}`], ...steps]), live)).toEqual(expected);
  });

  it('of the rinse opens when the water is at mains level', () => {
    expect(missing(told([['stage:rinse']]), measured({ turbidityNtu: 1 }), verdict('clear'))).toEqual([]);
  });

  it('have their variants where the system is open-vented: no fill band, no pressure hold, vents capped', () => {
    const state = told([['stage:join'], ...joined], vented);
    expect(missing(state, measured({ pressureBar: 0.3 }), verdict('idle'), vented)).toEqual([
      'stage.tick',
      'stage.tick',
    ]);
    const filled = told([['stage:fill'], read('filling-loop')], vented);
    expect(missing(filled, measured({ pressureBar: 0.3 }), verdict('idle'), vented)).toEqual([]);
  });
});

describe('moving between stages', () => {
  const asking = { who: 'loopback', timeS: 1e4, undoForS: 10 };
  const move = (steps: readonly Step[], to: StageName, note: string, lacks: readonly string[]): string => {
    const answer = request(told(steps), { event: `stage:${to}`, emitter: '', note }, { ...asking, missing: lacks });
    return answer.ok ? ('already' in answer ? 'already' : 'ok') : answer.refusal.code;
  };
  const every: readonly Step[] = Object.keys(cautions).map(read);

  it.each([
    ['on, gate open', 'dose', 'warm', '', [], 'ok'],
    ['on, gate shut', 'dose', 'warm', '', ['x'], 'job.stage-why'],
    ['on, gate shut, with a reason', 'dose', 'warm', 'no sensor', ['x'], 'ok'],
    ['across', 'dose', 'emitters', '', [], 'job.stage-why'],
    ['across, with a reason', 'dose', 'emitters', 'done before', [], 'ok'],
    ['back', 'warm', 'dose', '', [], 'job.stage-why'],
    ['back, with a reason', 'warm', 'dose', 'again', [], 'ok'],
    ['again, pressed on two tablets at once', 'warm', 'warm', '', [], 'already'],
  ] as const)('%s', (_, from, to, note, lacks, expected) => {
    expect(move([...every, [`stage:${from}`]], to, note, lacks)).toBe(expected);
  });

  it('never cages: from each stage to each other, with a reason and the cautions read', () => {
    const ways = stageNames.flatMap((from) => stageNames.filter((to) => to !== from).map((to) => [from, to] as const));
    const caged = ways.filter(([from, to]) => move([...every, [`stage:${from}`]], to, 'why not', ['x']) !== 'ok');
    expect(caged).toEqual([]);
  });

  it.each(['isolation', 'foul-drain'])(
    'does not let the rinse begin before the caution "%s" was read, by any way',
    (id) => {
      const others = every.filter(([, note]) => note !== id);
      for (const from of stageNames.filter((s) => s !== 'rinse'))
        expect(move([...others, [`stage:${from}`]], 'rinse', 'in a hurry', [])).toBe('job.caution-unread');
    },
  );

  it('does not let the filling be left before the filling loop is off', () => {
    expect(move([['stage:fill']], 'dose', 'in a hurry', [])).toBe('job.caution-unread');
  });

  it('keeps on the time line what was done, jumped over and taken up again, and why', () => {
    const { course } = told([['stage:fill'], ['stage:emitters', 'filled before'], ['stage:dose', 'forgotten']]).job;
    expect(course).toMatchObject({
      survey: { status: 'to-come' },
      fill: { status: 'done', spentS: 10, why: 'filled before' },
      warm: { status: 'skipped', why: 'filled before' },
      dose: { status: 'now', times: 1 },
      emitters: { status: 'done' },
    });
  });

  it('rests with a reason, and goes on where it was', () => {
    expect(request(told([['stage:warm']]), { event: 'pause', emitter: '', note: '' }, asking)).toMatchObject({
      refusal: { code: 'job.pause-why' },
    });
    const paused = told([['stage:warm'], ['pause', 'Over night']]);
    expect(paused.job).toMatchObject({ stage: 'warm', paused: { why: 'Over night' } });
    expect(
      fold(paused, { id: 'r', who: 'x', event: { timeS: 99, event: 'resume', emitter: '', note: '' } }).job,
    ).toMatchObject({
      stage: 'warm',
      paused: null,
    });
  });

  it('offers at most eight phrases by glove', () => {
    expect(reasons.length).toBeLessThanOrEqual(8);
    expect(pauseReasons.length).toBeLessThanOrEqual(8);
  });
});

describe('what is typed', () => {
  const code = (event: string, data: Data): string => {
    const answer = request(told([]), { event, emitter: '', note: '', data }, { who: 'x', timeS: 1, undoForS: 10 });
    return answer.ok ? 'ok' : answer.refusal.code;
  };
  it.each([
    ['label', { what: 'cleaner', amount: 1, unit: 'l/100 l' }, 'ok'],
    ['label', { what: 'cleaner', amount: 1, unit: 'ppm' }, 'job.typed-wrong'],
    ['label', { what: 'paint', amount: 1, unit: '%' }, 'job.typed-unknown'],
    ['typed', { what: 'fill-bar', value: 1.2 }, 'ok'],
    ['typed', { what: 'fill-bar', value: 60 }, 'job.typed-wrong'],
    ['typed', { what: 'fill-bar' }, 'job.typed-wrong'],
    ['typed', { what: 'mood', value: 3 }, 'job.typed-unknown'],
    ['sample', { water: 'mains', ph: 7.2 }, 'ok'],
    ['sample', { water: 'mains', ph: 72 }, 'job.typed-wrong'],
    ['sample', { water: 'mains' }, 'job.typed-wrong'],
    ['dose', { what: 'cleaner', litres: -1 }, 'job.typed-wrong'],
    ['hand-over', {}, 'job.typed-wrong'],
    ['caution-read', {}, 'job.caution-unknown'],
    ['survey-row', { kind: 'emitter', id: 'x', name: 'X', type: 'panel', litres: 7 }, 'ok'],
    [
      'survey-row',
      { kind: 'emitter', id: 'x', name: 'X', type: 'panel', length_mm: 900000, height_mm: 600 },
      'out-of-range',
    ],
    ['survey-row', { kind: 'emitter', id: 'x', name: 'X', type: 'stove', litres: 7 }, 'job.survey-wrong'],
    ['survey-table', { csv: 'kind;id;name\nemitter;q;Q\n' }, 'job.survey-wrong'],
  ] as const)('%s %j: %s', (event, data, expected) => expect(code(event, data)).toBe(expected));
});

describe('the survey of a run', () => {
  const row: Step = ['survey-row', '', { kind: 'emitter', id: 'd', name: 'Den', type: 'panel', litres: 9 }];
  it('puts new emitters among those to visit, and into what the verdict goes by', () => {
    const state = told([['stage:survey'], row]);
    expect(state.job.emitters.map((e) => e.id)).toEqual(['a', 'b', 'c', 'd']);
    const now = contextOfEvents(context, state.log);
    expect(now.emitters.at(-1)).toMatchObject({ id: 'd', volume_l: 9 });
    expect(now.loop_volume_l).toBe(context.loop_volume_l);
  });

  it('forgets no emitter that was worked on, and begins where nothing is known', () => {
    const state = told([['stage:emitters'], ['emitter-open', '', undefined, 'a'], ['survey-remove', '', { id: 'a' }]]);
    expect(state.job.emitters.map((e) => e.id)).toEqual(['b', 'c', 'a']);
    const bare = { ...context, emitters: [] };
    expect(told([row], bare).job.emitters.map((e) => e.id)).toEqual(['d']);
  });

  it('takes the mains test for the level to rinse to', () => {
    const state = told([['sample', '', { water: 'mains', turbidity: 1.5, conductivity: 310 }]]);
    expect(contextOfEvents(context, state.log).mains).toEqual({ turbidity_ntu: 1.5, conductivity_us_cm: 310 });
  });
});

describe('live figures of the stages', () => {
  const feed = (live: StageLive, fromS: number, forS: number, values: Partial<Sample>): void => {
    for (let t = fromS; t < fromS + forS; t += 0.5) live.sample({ ...emptySample(t), ...values, timeS: t }, null);
  };
  const event = (timeS: number, name: string, data?: Data) => ({
    timeS,
    event: name,
    emitter: '',
    note: '',
    ...(data ? { data } : {}),
  });

  it('counts litres of the fill, the hold, and goes silent with its sensors', () => {
    const live = new StageLive('sealed');
    live.event(event(0, 'stage:fill'));
    feed(live, 0, 600, { flowLpm: 6, pressureBar: 1 });
    expect(live.figures(600).filled?.litres.value).toBeCloseTo(59.8, 0);
    expect(live.figures(600).now.flowLpm).toBeCloseTo(6);
    expect(live.figures(700).now.flowLpm).toBeNull();
    live.event(event(600, 'hold-start'));
    feed(live, 600, 30, { pressureBar: 1 });
    live.event(event(630, 'hold-end'));
    feed(live, 630, 30, { pressureBar: 0.5 });
    expect(live.figures(660).holdPoints.every((p) => p.bar === 1)).toBe(true);
  });

  it('lets the clock of circulation stand while it is too cold', () => {
    const live = new StageLive('sealed');
    live.event(event(0, 'stage:circulate'));
    feed(live, 0, 120, { flowLpm: 9, returnC: 40 });
    expect(live.figures(120).circulated).toMatchObject({ countedS: 0, isRunning: false });
    feed(live, 120, 121, { flowLpm: 9, returnC: 55 });
    expect(live.figures(241).circulated?.countedS).toBeGreaterThan(115);
  });
});

it('shows a page that keeps its schema, in any stage, after any events in any order', () => {
  const names = [
    ...stageNames.map((s) => `stage:${s}`),
    'survey-row',
    'survey-table',
    'typed',
    'sample',
    'dose',
    'label',
    'check',
    'hold-start',
    'hold-end',
    'pause',
    'resume',
    'hand-over',
    'undo',
  ];
  const anyData = fc.option(
    fc.dictionary(
      fc.constantFrom(
        'what',
        'value',
        'water',
        'ph',
        'litres',
        'id',
        'kind',
        'csv',
        'done',
        'undoes',
        'amount',
        'unit',
      ),
      fc.oneof(
        fc.string(),
        fc.double({ noNaN: true }),
        fc.boolean(),
        fc.constantFrom('cleaner', 'mains', 'emitter', 'e0'),
      ),
    ),
    { nil: undefined },
  );
  const anyStep = fc.tuple(fc.constantFrom(...names), fc.constantFrom('', 'x', 'isolation'), anyData);
  fc.assert(
    fc.property(fc.array(anyStep, { maxLength: 14 }), (steps) => {
      const state = told(steps.map(([event, note, data]): Step => [event, note, data]));
      const view = jobView({
        head: { runId: 'r', title: 'T', simulated: true, startedAt: '2026-01-02T03:04:05Z', context },
        state,
        analysis: analysisOf(verdict('idle')),
        live: measured({ pressureBar: 1, flowLpm: 3, conductivityUsCm: 500 }),
        spans: [],
        timeS: 5000,
        undoForS: 10,
      });
      expect(jobViewSchema.safeParse(view).success).toBe(true);
      expect(JSON.stringify(view.stagePage ?? '')).not.toMatch(/undefined|NaN/);
      expect(view.timeLine.filter((p) => p.status === 'now').length).toBeLessThanOrEqual(1);
    }),
    { numRuns: 200 },
  );
});

it('has every stage with two to six lines of what to do', () => {
  for (const name of stageNames) {
    const lines = stageSpecs[name].steps(look(told([[`stage:${name}`]])));
    expect(lines.length).toBeGreaterThanOrEqual(2);
    expect(lines.length).toBeLessThanOrEqual(6);
  }
});
