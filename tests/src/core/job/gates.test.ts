import { describe, expect, it } from 'vitest';
import { request } from '../../../../src/core/job/commands.ts';
import { type StageName, stageNames } from '../../../../src/core/job/event.ts';
import { fold } from '../../../../src/core/job/fold.ts';
import { cautions } from '../../../../src/core/job/stages/cautions.ts';
import { type LiveFigures, noFigures } from '../../../../src/core/job/stages/live.ts';
import { pauseReasons, reasons, stagePage } from '../../../../src/core/job/stages/page.ts';
import { say } from '../../../../src/core/message/message.ts';
import {
  look,
  type Step,
  told,
  missing,
  measured,
  label,
  tick,
  read,
  joined,
  steady,
  falling,
  ran,
  vented,
} from './stage-cases.ts';
import { context, verdict } from './job-cases.ts';

const mains400 = { ...context, mains: { ...context.mains, conductivity_us_cm: 400 } };

/** A dose of which the sensor told all: mains 400, dosed 1400; the inhibitor is in. */
const dosed = measured(
  { conductivityUsCm: 410 },
  {
    beforeDose: { value: 500, u: 5 },
    mixPoints: Array.from({ length: 200 }, (_, i) => ({ litres: i, usCm25: 1400 })),
  },
);
const inhibited: readonly Step[] = [
  ['stage:protect'],
  tick('rig-off'),
  tick('vented'),
  tick('each-heats'),
  ['dose', '', { what: 'inhibitor', litres: 1 }],
];
const leftRow = (steps: readonly Step[], rinse = verdict('clear')) => {
  const page = stagePage(look(told([...steps, ...inhibited], mains400), dosed, rinse, mains400), say);
  return page?.conditions.find((c) => c.id === 'tolerance');
};

describe('cleaner left, before the inhibitor', () => {
  const tested = (conductivity: number): Step => ['sample', '', { water: 'after', conductivity }];

  it('is told by the rinse where nothing newer is known, and by nothing else beside it', () => {
    expect(leftRow([])).toMatchObject({ value: null, words: 'rinsed to mains level', note: '', stand: 'no-band' });
  });

  it('is told by the water test that was made after it, and marked when it is over', () => {
    expect(leftRow([tested(800)])).toMatchObject({ value: 40, most: 20, stand: 'high', words: '' });
    expect(leftRow([tested(800)])?.note).toMatch(/by the water test after/);
    expect(leftRow([tested(420)])).toMatchObject({ value: 2, stand: 'inside' });
  });

  it('keeps the stage shut while the test says that it is more than the inhibitor stands', () => {
    const codes = (steps: readonly Step[]) =>
      missing(told([...steps, ...inhibited], mains400), dosed, verdict('clear'), mains400);
    expect(codes([tested(800)])).toEqual(['stage.cleaner-left']);
    expect(codes([tested(420)])).toEqual([]);
  });

  it('is told by the sensor after a rinse that was cut short', () => {
    expect(leftRow([], verdict('settling'))).toMatchObject({ value: 1, note: /by the sensor/ });
  });
});

describe('handing over', () => {
  const row = (id: string, rinse: ReturnType<typeof verdict>, steps: readonly Step[] = []) =>
    stagePage(look(told([...steps, ['stage:hand-over']]), noFigures, rinse), say)?.conditions.find((c) => c.id === id);
  const ended = (turbidityNtu: number) => ({
    ...verdict('settling'),
    reason: { code: 'rinse-over-mains', figures: { turbidityNtu, turbidityLimitNtu: 5 } },
  });

  it('says how the rinse ended, and that nothing was told only where nothing was', () => {
    expect(row('rinse', verdict('clear'))?.words).toBe('at mains level');
    expect(row('rinse', ended(9))?.words).toBe('above mains level');
    expect(row('rinse', ended(3))?.words).toBe('under its limits, too briefly');
    expect(row('rinse', verdict('cannot-tell'))?.words).toBe('not told');
  });

  it('counts every emitter that was worked on, whatever became of it', () => {
    const steps: Step[] = [
      ['emitter-open', '', undefined, 'a'],
      ['emitter-shut', '', undefined, 'a'],
      ['emitter-open', '', undefined, 'b'],
      ['emitter-shut', '', undefined, 'b'],
      ['skip', 'no time', undefined, 'b'],
      ['emitter-open', '', undefined, 'c'],
    ];
    expect(row('worked', verdict('clear'), steps)).toMatchObject({ value: 3, unit: 'of 3' });
  });
});

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
  [
    'dose',
    'far more than the label wants',
    [label('cleaner'), ['dose', '', { what: 'cleaner', litres: 50 }]],
    measured({}, { contact: ran(21) }),
    ['stage.overdose'],
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
      fill: { status: 'left', spentS: 10, why: 'filled before' },
      warm: { status: 'skipped', why: 'filled before' },
      dose: { status: 'now', times: 1 },
      emitters: { status: 'left' },
    });
  });

  it('calls a stage done that lacked nothing, and left that did, as the bridge knew it then', () => {
    const left = (missing: readonly string[]) => {
      const state = told([['stage:emitters']]);
      const asked = { event: 'stage:survey', emitter: '', note: 'forgot one' };
      const answer = request(state, asked, { ...asking, missing });
      if (!answer.ok || !('event' in answer)) throw new Error('refused');
      return fold(state, { id: 'n', who: 'x', event: answer.event }).job.course.emitters.status;
    };
    expect(left(['6 emitters are not done yet.'])).toBe('left');
    expect(left([])).toBe('done');
    expect(told([['stage:dose'], ['stage:warm']]).job.course.dose.status).toBe('done');
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
