import { describe, expect, it } from 'vitest';
import { limitsFromText, textOfLimits } from '../../../../src/core/chemistry/limits-csv.ts';
import { defaultLimits } from '../../../../src/core/chemistry/limits.ts';
import { request } from '../../../../src/core/job/commands.ts';
import { contextNow } from '../../../../src/core/job/context-now.ts';
import { sampleTable } from '../../../../src/core/job/stages/samples.ts';
import { defaultLineSettings } from '../../../../src/core/line/settings.ts';
import { say } from '../../../../src/core/message/message.ts';
import { mainsLevel } from '../../../../src/core/rinse/at-mains.ts';
import { insideUnits } from '../../../../src/core/quantity/units.ts';
import { context, verdict } from './job-cases.ts';
import { type Data, label, look, measured, type Step, told } from './stage-cases.ts';
import { noFigures } from '../../../../src/core/job/stages/live.ts';
import { rinse } from '../../../../src/core/job/stages/rinse.ts';
import { gateOf, stagePage } from '../../../../src/core/job/stages/page.ts';
import { eventLabel } from '../../../../src/core/job/buttons.ts';
import { lastAction } from '../../../../src/core/job/undo.ts';

const asking = { who: 'loopback', timeS: 1e4, undoForS: 10 };
/** The sentence of a refusal; '' when it is taken. */
function refused(event: string, data: Data, steps: readonly Step[] = [], note = ''): string {
  const answer = request(told(steps), { event, emitter: '', note, data }, asking);
  return answer.ok ? '' : say(answer.refusal);
}
const sample = (water: string, data: Data): Step => ['sample', '', { water, ...data }];
const row = (steps: readonly Step[], item: string) => look(told(steps)).worked.compared.find((r) => r.item === item);

describe('a dose of more than twice the label', () => {
  const added = (litres: number): Step[] => [label('cleaner'), ['dose', '', { what: 'cleaner', litres }]];
  const rowOf = (steps: readonly Step[]) => stagePage(look(told([['stage:dose'], ...steps])), say)?.conditions[1];
  const wanted = look(told([label('cleaner')])).worked.doses.cleaner;
  const litres = wanted?.ok ? wanted.value.value : Number.NaN;

  it('is marked beside its figure, with what to do; up to there nothing is', () => {
    expect(rowOf(added(1.9 * litres))).toMatchObject({ stand: 'no-band', note: '' });
    expect(rowOf(added(2.1 * litres))).toMatchObject({ stand: 'high', note: 'twice the label' });
    const page = stagePage(look(told([['stage:dose'], ...added(10 * litres)])), say);
    expect(page?.missing[0]).toBe('Far too much cleaner: about 1000 % of what the label wants.');
    expect(page?.warnings[0]).toMatch(/^Far too much cleaner: about 1000 %.*rinse longer.*label.*local rules/);
  });

  it('is told again where it is to be rinsed out, and the chip to take it back says what it was', () => {
    const state = told([['stage:rinse'], ...added(10 * litres)]);
    expect(stagePage(look(state), say)?.warnings[0]).toMatch(/Far too much cleaner/);
    const last = lastAction(state);
    expect(last && say(eventLabel(last, []))).toBe('Added cleaner');
  });
});

describe('units of the run', () => {
  it('are ours until somebody says otherwise, and each kind is set alone', () => {
    expect(told([]).job.units).toEqual(insideUnits);
    const { units } = told([
      ['units', '', { pressure: 'psi' }],
      ['units', '', { volume: 'imp gal' }],
    ]).job;
    expect(units).toEqual({ ...insideUnits, pressure: 'psi', volume: 'imp gal' });
  });

  it('begin as the last run had them', () => {
    expect(told([], { ...context, units: { temperature: '°F' } }).job.units.temperature).toBe('°F');
    expect(told([], { ...context, units: 'nonsense' }).job.units).toEqual(insideUnits);
  });

  it('refuse a gallon that does not say which, with what there is', () => {
    expect(refused('units', { volume: 'US gal' })).toBe('');
    expect(refused('units', { volume: 'gal' })).toBe(
      '"gal" is no unit of volume here; choose one of l, US gal, imp gal.',
    );
    expect(refused('units', { weight: 'stone' })).toMatch(/no choice of unit for "weight"; there is one for pressure/);
  });
});

describe('what a sensor reads is no water test that somebody made', () => {
  const live = measured({ turbidityNtu: 17.04, conductivityUsCm: 520 });
  const fieldsOf = (stage: string, id: string) =>
    stagePage(look(told([[`stage:${stage}`]]), live), say)?.forms.find((f) => f.id === id)?.fields ?? [];

  it('is not offered before the rig is joined', () => {
    expect(fieldsOf('before-samples', 'sample-before').filter((f) => f.start !== undefined)).toEqual([]);
  });

  it('is offered after the rinse as the rig\u2019s, and kept and shown as that', () => {
    const offered = fieldsOf('after-samples', 'sample-after').filter((f) => f.start !== undefined);
    expect(offered.map((f) => [f.name, f.start, f.startBy])).toEqual([
      ['conductivity', 520, 'rig'],
      ['turbidity', 17, 'rig'],
    ]);
    const kept = told([sample('after', { ph: 8, turbidity: 17, turbidityBy: 'rig' })]);
    expect(look(kept).worked.tests.after).toMatchObject({ turbidity: { value: 17, by: 'rig' }, ph: { value: 8 } });
    expect(sampleTable(look(kept))?.rows.map((r) => r[3])).toEqual(expect.arrayContaining(['17.0 (rig)', '8.0']));
    expect(refused('sample', { water: 'after', turbidity: 17, turbidityBy: 'rig' })).toBe('');
  });
});

describe('limits of the water tests', () => {
  const after = sample('after', { ph: 9.4 });
  const alu: Step = [
    'survey-row',
    '',
    { kind: 'emitter', id: 'x', name: 'X', type: 'panel', material: 'aluminium', litres: 4 },
  ];

  it('follow the materials: aluminium takes less pH', () => {
    expect(row([after], 'ph')?.verdict).toBe('inside');
    expect(row([after, alu], 'ph')).toMatchObject({ verdict: 'outside', most: 9, origin: /aluminium/ });
  });

  it('are set by hand for the run, with where they come from', () => {
    const own = [after, alu, ['limit', '', { item: 'ph', least: 7, most: 9.6, origin: 'maker’s sheet' }]] as const;
    expect(row(own, 'ph')).toMatchObject({ verdict: 'inside', most: 9.6, origin: 'maker’s sheet' });
    expect(row([...own, ['limit', '', { item: 'iron', most: 5 }]], 'iron')?.origin).toBe('set for this run');
    expect(row([...own, ['limit', '', { item: 'ph' }]], 'ph')).toMatchObject({ least: null, most: null });
  });

  it('refuse bounds that cannot be, in one sentence', () => {
    expect(refused('limit', { item: 'ph', most: 9 })).toBe('');
    expect(refused('limit', { item: 'ph', most: 20 })).toMatch(/^Limit of pH: 20 was given, 0 to 14 is possible/);
    expect(refused('limit', { item: 'iron', least: 9, most: 3 })).toMatch(
      /at least 9, at most 3 was given, the least is/,
    );
    expect(refused('limit', { item: 'gold', most: 3 })).toMatch(/^Of: gold was given, one of conductivity/);
  });

  it('are kept as a table and taken from one, the same', () => {
    for (const set of [defaultLimits(['steel']), defaultLimits(['aluminium'])])
      expect(limitsFromText(textOfLimits(set), set.name)).toEqual({ set, faults: [] });
    const csv = 'item;most;origin\niron;4,5;"house rule; 2026"\n';
    const state = told([['limit-table', 'firm.csv', { csv }]]);
    expect(look(state).worked.limits).toEqual({
      name: 'firm.csv',
      limits: [{ item: 'iron', most: 4.5, origin: 'house rule; 2026' }],
    });
  });

  it('refuse a table by line and column, and take nothing of it', () => {
    const csv = 'item,most\niron,much\nph,99\niron,3\n';
    expect(limitsFromText(csv, '').faults.map((f) => [f.line, f.column])).toEqual([
      [2, 'most'],
      [3, 'most'],
      [4, 'item'],
    ]);
    expect(refused('limit-table', { csv })).toBe(
      'Limits, line 2, most: found much, expected a number. Nothing of it was taken.',
    );
    expect(refused('limit-table', { csv: '' })).toMatch(/line 1, item: found no such column/);
    expect(refused('limit-table', { csv: 'item,most\n' })).toMatch(/found no limit, expected at least one/);
  });
});

describe('a turbidity tube', () => {
  it('tells turbidity where no instrument did: 60 cm is about 8 NTU', () => {
    const [before] = [row([sample('before', { tube: 60 })], 'turbidity')?.before];
    // 60 cm by depth = 244.13 NTU^-0.662, worked by hand: (60 / 244.13)^(-1 / 0.662) = 8.33.
    expect(before).toMatchObject({ tubeCm: 60 });
    expect(before !== 'not-measured' && before?.value).toBeCloseTo(8.33, 2);
    expect(row([sample('before', { tube: 60, turbidity: 3 })], 'turbidity')?.before).toMatchObject({ value: 3 });
  });

  it('in which the mark stays in sight says no more than "less than"', () => {
    const clear = [sample('mains', { turbidity: 0.4 }), sample('after', { tube: 120, tubeMark: 'still in sight' })];
    expect(row(clear, 'turbidity')?.verdict).toBe('inside');
    expect(sampleTable(look(told(clear)))?.rows.find((r) => r[0]?.startsWith('Turbidity'))?.[3]).toBe('< 2.9');
    const short = [sample('mains', { turbidity: 0.4 }), sample('after', { tube: 40, tubeMark: 'still in sight' })];
    expect(row(short, 'turbidity')?.verdict).toBe('undecided');
  });

  it('of the mains gives the level to rinse to', () => {
    const now = contextNow(context, told([sample('mains', { tube: 120, tubeMark: 'out of sight' })]).job);
    expect(now.mains.turbidity_ntu).toBeCloseTo(2.92, 2);
  });

  it('is refused at a depth that no tube has', () => {
    expect(refused('sample', { water: 'mains', tube: 400 })).toMatch(
      /tube, depth: 400 was given, 3 to 150 cm is possible/,
    );
  });
});

describe('protection', () => {
  it('goes by what the label says that the inhibitor stands, a fifth of the dose where it says nothing', () => {
    expect(look(told([])).worked.tolerated).toBe(0.2);
    expect(look(told([['typed', '', { what: 'tolerated-percent', value: 5 }]])).worked.tolerated).toBe(0.05);
  });

  it('keeps weighed sludge, and adds it up', () => {
    const weigh = (grams: number): Step => ['weighed', '', { grams, how: 'wet' }];
    expect(told([weigh(300), weigh(340)]).job.weighed.map((w) => w.grams)).toEqual([300, 340]);
    expect(refused('weighed', { grams: -5, how: 'wet' })).toMatch(/^Sludge: -5 was given, 1 to 100000 g is possible/);
  });
});

describe('the level to rinse to', () => {
  const mains = sample('mains', { turbidity: 0.5, conductivity: 400 });
  const typed = (what: string, value: number): Step => ['typed', '', { what, value }];
  const read = [typed('rinse-ntu', 2), typed('rinse-us-cm', 430)];
  const gate = (steps: readonly Step[]) => {
    const state = told([['stage:rinse'], mains, ...steps]);
    return gateOf(look(state, noFigures, verdict('cannot-tell'), contextNow(context, state.job))).map((m) => m.code);
  };

  it('is the mains and a tenth by common practice, and the page, the gate and the verdict go by the same', () => {
    expect(gate(read)).toEqual([]);
    expect(mainsLevel({ turbidity_ntu: 0.5, conductivity_us_cm: 400 }, defaultLineSettings)).toEqual({
      ntu: 2.5,
      usCm: 400 * 1.1,
    });
  });

  it('goes by what was typed where the kit is too coarse to show it, and by the kit where it is not', () => {
    const coarse = { ...verdict('cannot-tell'), reason: { code: 'rinse-too-coarse', figures: {} } };
    const seen = measured({ turbidityNtu: 0, conductivityUsCm: 420 });
    const missing = (steps: readonly Step[], said = coarse) => {
      const state = told([['stage:rinse'], mains, ...steps]);
      return gateOf(look(state, seen, said, contextNow(context, state.job))).map((m) => m.code);
    };
    expect(missing([])).toEqual(['stage.rinse-coarse']);
    expect(missing([typed('rinse-ntu', 2)])).toEqual([]);
    expect(missing([typed('rinse-ntu', 9)])).toEqual(['stage.rinse-coarse']);
    expect(missing([typed('rinse-ntu', 2)], verdict('settling'))).toEqual(['stage.rinse']);
    const briefly = { ...verdict('settling'), reason: { code: 'rinse-seen-briefly', figures: {} } };
    expect(missing([], briefly)).toEqual(['stage.rinse-briefly']);
    const coming = { ...verdict('settling'), reason: { code: 'rinse-water-to-come', figures: {} } };
    expect(missing([], coming)).toEqual(['stage.rinse-water']);
  });

  it('forecasts no nought minutes while an emitter\u2019s own water is still on its way', () => {
    const state = told([['stage:rinse'], mains]);
    const row = (code: string) => {
      const said = { ...verdict('settling'), reason: { code, figures: {} } };
      const at = look(
        state,
        measured({ turbidityNtu: 1, conductivityUsCm: 420 }),
        said,
        contextNow(context, state.job),
      );
      const forecast = { seconds: 0, fromS: 0, toS: 0, litres: 0, fromL: 0, toL: 0 };
      const with0 = { ...at, worked: { ...at.worked, forecast } };
      const found = rinse.conditions?.(with0).find((c) => c.id === 'forecast');
      return found && [found.value, found.words];
    };
    expect(row('rinse-over-mains')).toEqual([0, undefined]);
    expect(row('rinse-water-to-come')).toEqual([null, 'for this emitter\u2019s water']);
    expect(row('rinse-seen-briefly')).toEqual([null, 'for a few seconds more']);
  });

  it('shows no nought as inside that stands for anything up to half a step', () => {
    const state = told([['stage:rinse'], mains]);
    const turbidity = (turbidityNtu: number, stepNtu: number) => {
      const said = { ...verdict('settling'), reason: { code: 'rinse-over-mains', figures: { stepNtu } } };
      const seen = measured({ turbidityNtu, conductivityUsCm: 600 });
      const at = look(state, seen, said, contextNow(context, state.job));
      const row = rinse.conditions?.(at).find((c) => c.id === 'turbidity');
      return row && [row.value, row.words];
    };
    expect(turbidity(0, 20)).toEqual([null, 'cannot be told']);
    expect(turbidity(20, 20)).toEqual([20, undefined]);
    expect(turbidity(0, 1)).toEqual([0, undefined]);
  });

  it('is that of the settings which the run keeps', () => {
    const state = told([['stage:rinse'], mains, ...read]);
    const usual = look(state, noFigures, verdict('cannot-tell'), contextNow(context, state.job));
    const strict = { ...usual, settings: { ...usual.settings, rinseNtu: 1 } };
    expect(gateOf(strict).map((m) => m.code)).toEqual(['stage.rinse-typed']);
    expect(rinse.conditions?.(strict).find((c) => c.id === 'turbidity')?.most).toBe(1.5);
    expect(rinse.remarks?.(usual).map((m) => m.code)).toContain('stage.rinse-practice');
    expect(rinse.remarks?.(strict).map((m) => m.code)).toContain('stage.rinse-own');
  });

  it('can be set for the run', () => {
    expect(gate([typed('rinse-over-percent', 5), ...read])).toEqual(['stage.rinse-typed']);
    expect(gate([typed('rinse-over-ntu', 1), ...read])).toEqual(['stage.rinse-typed']);
    const set = contextNow(context, told([mains, typed('rinse-over-percent', 5), typed('rinse-over-ntu', 1)]).job);
    expect(mainsLevel(set.mains, defaultLineSettings)).toEqual({ ntu: 1.5, usCm: 420 });
    expect(refused('typed', { what: 'rinse-over-percent', value: 400 })).toMatch(/1 to 100 % is possible/);
  });
});

describe('bad input, each with its sentence', () => {
  const emitter = { kind: 'emitter', id: 'x', name: 'X', type: 'panel', material: 'steel' };

  it('impossible sizes', () => {
    expect(refused('survey-row', { ...emitter, litres: -4 })).toMatch(
      /^water content of the emitter: found -4, possible is 0.05 to 500 l/,
    );
    expect(refused('survey-row', { ...emitter, type: 'sofa', litres: 3 })).toMatch(
      /found sofa, expected one of panel, double-panel/,
    );
    expect(refused('hand-over', { engineer: '' })).toMatch(/^Engineer: nothing was given, words are expected/);
    expect(refused('survey-row', { ...emitter, length_mm: 90000, height_mm: 600 })).toMatch(/90000/);
    expect(refused('typed', { what: 'fill-bar', value: 60 })).toMatch(/60 was given, 0 to 6 bar is possible/);
    expect(refused('sample', { water: 'after', ph: 17 })).toMatch(/pH: 17 was given, 0 to 14 is possible/);
  });

  it('a label rate in the wrong unit', () => {
    const given = look(told([['label', '', { what: 'cleaner', amount: 5, unit: '%' }]]));
    expect(given.worked.rates.cleaner).not.toBeNull();
    expect(refused('label', { what: 'cleaner', amount: 50, unit: '%' })).toBe(
      '50 % would be 50.000 % of the system, which no label means (0.05 to 5 %). Did you mean 50 ml/l or 50 l/m³? Read the unit on the label again.',
    );
  });

  it('a mains sample dirtier than the system', () => {
    const state = told([
      ['stage:before-samples'],
      sample('mains', { turbidity: 40, conductivity: 900 }),
      sample('before', { turbidity: 2, conductivity: 400 }),
    ]);
    expect(look(state).worked.swapped).toEqual(['conductivity', 'turbidity']);
  });

  it('a stage without a sensor: what cannot be told, and a typed reading in its place', () => {
    const state = told([['stage:rinse']]);
    const codes = gateOf(look(state, measured({ flowLpm: 10 }), verdict('cannot-tell'))).map((m) => m.code);
    expect(codes.length).toBeGreaterThan(0);
    const typed = told([
      ['stage:rinse'],
      sample('mains', { turbidity: 0.5, conductivity: 400 }),
      ['typed', '', { what: 'rinse-ntu', value: 1 }],
      ['typed', '', { what: 'rinse-us-cm', value: 410 }],
    ]);
    expect(gateOf(look(typed, noFigures, verdict('cannot-tell'))).map((m) => m.code)).toEqual([]);
  });
});
