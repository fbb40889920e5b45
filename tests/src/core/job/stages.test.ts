import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { request } from '../../../../src/core/job/commands.ts';
import { contextOfEvents } from '../../../../src/core/job/context-now.ts';
import { stageNames } from '../../../../src/core/job/event.ts';
import { StageLive } from '../../../../src/core/job/stages/live.ts';
import { stageSpecs } from '../../../../src/core/job/stages/table.ts';
import { jobView } from '../../../../src/core/job/view.ts';
import { jobViewSchema } from '../../../../src/core/job/view-schema.ts';
import { emptySample, type Sample } from '../../../../src/core/quantity/sample.ts';
import { type Data, type Step, told, look, measured } from './stage-cases.ts';
import { analysisOf, context, verdict } from './job-cases.ts';

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
  const noDose = { doses: [] };
  const feed = (live: StageLive, fromS: number, forS: number, values: Partial<Sample>): void => {
    for (let t = fromS; t < fromS + forS; t += 0.5) live.sample({ ...emptySample(t), ...values, timeS: t }, () => null);
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
    live.event(event(0, 'stage:fill'), noDose);
    feed(live, 0, 600, { flowLpm: 6, pressureBar: 1 });
    expect(live.figures(600).filled?.litres.value).toBeCloseTo(59.8, 0);
    expect(live.figures(600).now.flowLpm).toBeCloseTo(6);
    expect(live.figures(700).now.flowLpm).toBeNull();
    live.event(event(600, 'hold-start'), noDose);
    feed(live, 600, 30, { pressureBar: 1 });
    live.event(event(630, 'hold-end'), noDose);
    feed(live, 630, 30, { pressureBar: 0.5 });
    expect(live.figures(660).holdPoints.every((p) => p.bar === 1)).toBe(true);
  });

  it('begins contact and mixing with the first cleaner, and anew when that was taken back', () => {
    const live = new StageLive('sealed');
    const dosed = (timeS: number) => ({ doses: [{ timeS, what: 'cleaner', litres: 1 }] });
    feed(live, 0, 60, { flowLpm: 9, conductivityUsCm: 500 });
    live.event(event(60, 'dose'), dosed(60));
    feed(live, 60, 60, { flowLpm: 9, conductivityUsCm: 700 });
    expect(live.figures(120)).toMatchObject({ beforeDose: { value: 500 } });
    expect(live.figures(120).contact?.countedS).toBeGreaterThan(50);
    live.event(event(121, 'undo'), noDose);
    expect(live.figures(121)).toMatchObject({ beforeDose: null, contact: null, mixPoints: [] });
    feed(live, 121, 60, { flowLpm: 9, conductivityUsCm: 700 });
    live.event(event(181, 'dose'), dosed(181));
    expect(live.figures(181).beforeDose?.value).toBeCloseTo(700);
  });

  it('keeps what the dose came to when other water follows it', () => {
    const live = new StageLive('sealed');
    const dosed = { doses: [{ timeS: 0, what: 'cleaner', litres: 1 }] };
    live.event(event(0, 'dose'), dosed);
    feed(live, 0, 60, { flowLpm: 9, conductivityUsCm: 1700 });
    const { mixPoints } = live.figures(60);
    for (const [i, stage] of ['rinse', 'after-samples', 'protect'].entries()) {
      live.event(event(60 + 60 * i, `stage:${stage}`), dosed);
      feed(live, 60 + 60 * i, 60, { flowLpm: 9, conductivityUsCm: 420 });
    }
    expect(live.figures(240).mixPoints.slice(0, -1)).toEqual(
      mixPoints.slice(0, live.figures(240).mixPoints.length - 1),
    );
    expect(live.figures(240).mixPoints.every((p) => p.usCm25 === 1700)).toBe(true);
  });

  it('keeps what the water conducted when the rinse was left, before the inhibitor, which conducts too', () => {
    const live = new StageLive('sealed');
    const inhibited = { doses: [{ timeS: 120, what: 'inhibitor', litres: 1 }] };
    live.event(event(0, 'stage:rinse'), noDose);
    feed(live, 0, 60, { flowLpm: 9, conductivityUsCm: 450 });
    expect(live.figures(60).rinsedOut).toBeNull();
    live.event(event(60, 'stage:protect'), noDose);
    feed(live, 60, 60, { flowLpm: 9, conductivityUsCm: 460 });
    live.event(event(120, 'dose'), inhibited);
    feed(live, 120, 60, { flowLpm: 9, conductivityUsCm: 2000 });
    expect(live.figures(180)).toMatchObject({ rinsedOut: { usCm: 450 }, now: { conductivityUsCm: 2000 } });
    // Rinsed again: what the sensor reads then tells of it.
    live.event(event(180, 'stage:rinse'), inhibited);
    expect(live.figures(180).rinsedOut).toBeNull();
  });

  it('keeps it from before the inhibitor where nobody rinsed, until that dose is taken back', () => {
    const live = new StageLive('sealed');
    feed(live, 0, 60, { flowLpm: 9, conductivityUsCm: 450 });
    live.event(event(60, 'dose'), { doses: [{ timeS: 60, what: 'inhibitor', litres: 1 }] });
    feed(live, 60, 60, { flowLpm: 9, conductivityUsCm: 2000 });
    expect(live.figures(120).rinsedOut).toEqual({ usCm: 450 });
    live.event(event(120, 'undo'), noDose);
    expect(live.figures(120).rinsedOut).toBeNull();
  });

  it('lets the clock of circulation stand while it is too cold', () => {
    const live = new StageLive('sealed');
    live.event(event(0, 'stage:circulate'), noDose);
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

describe('what changes per minute', () => {
  it('is told as the rate of a quantity, so that it can follow the units chosen', () => {
    const rate = (stage: 'warm' | 'join', id: string) =>
      stageSpecs[stage]
        .conditions?.(look(told([[`stage:${stage}`]]), measured({ returnC: 40, pressureBar: 1 })))
        .find((c) => c.id === id);
    expect(rate('warm', 'rise')).toMatchObject({ kind: 'temperature', perMin: true });
    expect(rate('join', 'leak')).toMatchObject({ kind: 'pressure', perMin: true });
  });
});
