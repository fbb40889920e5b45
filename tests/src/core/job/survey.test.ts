import { describe, expect, it } from 'vitest';
import { contextSchema } from '../../../../src/core/job/context.ts';
import { rowsFromSurvey, surveyFromRows } from '../../../../src/core/job/survey-csv.ts';
import { contextOf, type Survey, surveySchema, workOut } from '../../../../src/core/job/survey.ts';
import { say } from '../../../../src/core/message/message.ts';

/** An invented house: two floors, one trunk of 22 mm, branches of 15 mm. */
const house: Survey = surveySchema.parse({
  v: 1,
  system: 'sealed',
  emitters: [
    { id: 'hall', name: 'Hall', floor: 0, type: 'panel', litres: 5, run: 'b1' },
    { id: 'bath', name: 'Bath rail', floor: 1, type: 'towel-rail', litres: 4, run: 'b2' },
    { id: 'attic', name: 'Attic', floor: 1, type: 'column', material: 'cast-iron', sections: 10 },
  ],
  runs: [
    { id: 'trunk', tube: 'copper-22x0.9', lengthM: 10 },
    { id: 'b1', tube: 'copper-15x0.7', lengthM: 4, towards: 'trunk' },
    { id: 'b2', innerMm: 12, lengthM: 6, towards: 'trunk' },
  ],
  others: [
    { id: 'heat', name: 'Heat source', litres: 3 },
    { id: 'rig', name: 'Rig and hoses', litres: 10, isRig: true },
  ],
});

describe('survey', () => {
  it('adds up emitters, pipes both ways and the rest', () => {
    const { result, problems } = workOut(house);
    expect(problems).toEqual([]);
    // 22 x 0.9: 0.3205 l/m; 15 x 0.7: 0.1453 l/m; bore 12: 0.1131 l/m.
    const pipes = 2 * (10 * 0.3205 + 4 * 0.1453 + 6 * 0.1131);
    expect(result?.volume.value).toBeCloseTo(5 + 4 + 11 + pipes + 13, 2);
    expect(result?.volume.u).toBeGreaterThan(0.05 * 40);
    expect(result?.emitters.map((e) => e.pathL?.value)).toEqual([
      expect.closeTo(10 * 0.3205 + 4 * 0.1453, 2),
      expect.closeTo(10 * 0.3205 + 6 * 0.1131, 2),
      undefined,
    ]);
    expect(result?.softMallet).toEqual(['attic']);
    expect(result?.order.map((o) => o.id)).toEqual(['bath', 'attic', 'hall']);
  });

  it('gives the context of a run: the loop is rig, flow pipe, emitter, return pipe', () => {
    const { result } = workOut(house);
    if (!result) throw new Error('no result');
    const part = contextOf(house, result);
    const context = contextSchema.parse({
      ...part,
      mains: { turbidity_ntu: 1, conductivity_us_cm: 300 },
      sample_hz: 10,
    });
    expect(context.emitters[2]?.path_l).toBeUndefined();
    expect(context.return_volume_l).toBeCloseTo(10 * 0.3205 + (4 * 0.1453 + 6 * 0.1131) / 2, 2);
    expect(context.loop_volume_l).toBeCloseTo(10 + 2 * context.return_volume_l + 20 / 3, 2);
  });

  it('tells everything that is wrong, each by its part', () => {
    const { result, problems } = workOut({
      ...house,
      emitters: [
        { id: 'a', name: 'A', room: '', floor: 0, type: 'panel', material: 'steel', run: 'lost' },
        { id: 'b', name: 'B', room: '', floor: 0, type: 'panel', material: 'steel', litres: -2, run: 'x' },
      ],
      runs: [
        { id: 'x', tube: 'copper-15x0.7', lengthM: 4, ways: 2, towards: 'y' },
        { id: 'y', tube: 'copper-15x0.7', lengthM: 4, ways: 2, towards: 'x' },
        { id: 'z', tube: 'glass', lengthM: 1, ways: 2 },
      ],
      others: [{ id: 'a', name: 'Buffer', litres: 0, isRig: false }],
    });
    expect(result).toBeNull();
    expect(problems.map((p) => `${p.part} ${p.refusal.code}`).sort()).toEqual([
      'a emitter-size-missing',
      'a out-of-range',
      'a survey-doubled',
      'a survey-run-unknown',
      'b out-of-range',
      'b survey-run-circle',
      'z tube-unknown',
    ]);
    for (const p of problems) expect(say(p.refusal)).not.toContain(p.refusal.code);
    expect(workOut({ ...house, emitters: [] }).problems[0]?.refusal.code).toBe('survey-no-emitter');
  });
});

describe('survey as a table', () => {
  it('goes out and comes in the same', () => {
    expect(surveyFromRows(rowsFromSurvey(house))).toEqual({ survey: house, faults: [] });
  });

  it('takes columns in any order, decimal commas, empty lines and absent columns', () => {
    const { survey, faults } = surveyFromRows([
      ['ID', 'kind', 'litres', 'type'],
      ['r1', 'emitter', '4,5', 'panel'],
      ['', '', '', ''],
      ['', 'system', '', 'open-vented'],
    ]);
    expect(faults).toEqual([]);
    expect(survey?.system).toBe('open-vented');
    expect(survey?.emitters[0]).toMatchObject({ id: 'r1', name: 'r1', litres: 4.5, floor: 0 });
  });

  it('names line, column, what was found and what is expected, all at once', () => {
    const header = ['kind', 'id', 'type', 'litres', 'length_m', 'ways', 'tube'];
    const faults = surveyFromRows([
      header,
      ['emitter', 'a', 'panel', 'about 5', '', '', ''],
      ['radiator', 'b', 'panel', '5', '', '', ''],
      ['run', 'c', 'panel', '', '4', '2', 'copper-15x0.7'],
      ['other', 'd', '', '1.000,5', '', '', ''],
      ['emitter', 'e', 'panel', '5', '', '', '', 'more'],
      ['system', '', 'vented', '', '', '', ''],
    ]).faults;
    expect(faults).toEqual([
      { line: 2, column: 'litres', found: 'about 5', expected: 'a number' },
      { line: 3, column: 'kind', found: 'radiator', expected: 'one of system, emitter, run, other, rig' },
      { line: 4, column: 'type', found: 'panel', expected: 'nothing in a row of kind run' },
      { line: 5, column: 'litres', found: '1.000,5', expected: 'a number' },
      { line: 6, column: '', found: '8 cells', expected: '7, as in the header' },
      { line: 7, column: 'type', found: 'vented', expected: 'sealed or open-vented' },
    ]);
    const first = faults[0];
    expect(first && say({ code: 'survey-table', params: { ...first } })).toBe(
      'Line 2, column litres: found "about 5", expected a number.',
    );
  });

  it('finds by line what the schema refuses, and headers that are wrong', () => {
    const late = surveyFromRows([
      ['kind', 'id', 'type', 'ways', 'length_m'],
      ['run', 't', '', '3', '4'],
      ['emitter', '', 'tube', '', ''],
      ['run', 'u', '', '', ''],
    ]).faults;
    expect(late.map((f) => [f.line, f.column, f.found])).toEqual(
      expect.arrayContaining([
        [2, 'ways', '3'],
        [3, 'id', 'nothing'],
        [3, 'type', 'tube'],
        [4, 'length_m', 'nothing'],
      ]),
    );
    expect(surveyFromRows([['kind', 'colour']]).faults.map((f) => f.column)).toEqual(['colour', 'id']);
    expect(surveyFromRows([]).faults.map((f) => f.column)).toEqual(['kind', 'id']);
  });
});
