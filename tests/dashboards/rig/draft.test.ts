import { afterEach, beforeAll, describe, expect, it, vi } from 'vitest';
import type { StageForm } from '../../../src/core/job/view-schema.ts';
import { insideUnits } from '../../../src/core/quantity/units.ts';
import { filledIn, lastText, startOf, stepped, textOf, typed } from '../../../dashboards/rig/stages/draft.ts';
import { rateUnitOf, units, widthOutward } from '../../../dashboards/shared/units.ts';
import { setLanguage } from '../../../dashboards/shared/words/language.ts';

beforeAll(() => {
  vi.stubGlobal('document', { documentElement: {} });
});
afterEach(async () => {
  units.value = insideUnits;
  await setLanguage('en');
});

const dose = {
  name: 'litres',
  label: 'Added now',
  kind: 'number',
  quantity: 'volume',
  least: 0.01,
  most: 1000,
  step: 0.1,
  decimals: 2,
  choices: [],
  start: 0.5,
} as const;
const target = {
  name: 'value',
  label: 'Return',
  kind: 'number',
  quantity: 'temperature',
  least: 20,
  most: 80,
  step: 1,
  choices: [],
  start: 40,
} as const;

const formOf = (field: StageForm['fields'][number], last: StageForm['last'] = null): StageForm => ({
  id: 'form',
  title: '',
  event: 'typed',
  fixed: {},
  fields: [field],
  submit: '',
  last,
});
const doseForm = formOf({ ...dose, choices: [] });
const warmForm = formOf({ ...target, choices: [] });
const field = (form: StageForm): StageForm['fields'][number] => form.fields[0] ?? { ...dose, choices: [] };

describe('a figure in a field', () => {
  it('that was there to begin with is the same amount in another unit, and is sent as it was', () => {
    const draft = startOf(doseForm);
    expect(textOf(field(doseForm), draft['litres'])).toBe('0.5');
    units.value = { ...insideUnits, volume: 'US gal' };
    expect(textOf(field(doseForm), draft['litres'])).toBe('0.13');
    expect(filledIn(doseForm, draft, {})).toEqual({ litres: 0.5 });
    units.value = insideUnits;
    expect(textOf(field(doseForm), draft['litres'])).toBe('0.5');
  });

  it('that was typed keeps its unit when the choice changes: 104 °F are 40 °C, and back', () => {
    units.value = { ...insideUnits, temperature: '°F' };
    const draft = { value: typed(field(warmForm), '104') };
    expect(filledIn(warmForm, draft, {})).toEqual({ value: 40 });
    units.value = insideUnits;
    expect(textOf(field(warmForm), draft.value)).toBe('40');
    expect(filledIn(warmForm, draft, {})).toEqual({ value: 40 });
    units.value = { ...insideUnits, temperature: '°F' };
    expect(textOf(field(warmForm), draft.value)).toBe('104');
  });

  it('that is begun and no figure yet stands as it was typed', () => {
    const entry = typed(field(doseForm), '1,');
    units.value = { ...insideUnits, volume: 'imp gal' };
    expect(textOf(field(doseForm), entry)).toBe('1,');
    expect(filledIn(doseForm, { litres: entry }, {})).toContain('no number');
  });

  it('steps by the same amount in every unit, within what is possible', () => {
    units.value = { ...insideUnits, volume: 'US gal' };
    const up = stepped(field(doseForm), startOf(doseForm)['litres'], 0.1);
    expect(filledIn(doseForm, { litres: up }, {})).toEqual({ litres: 0.6 });
    expect(stepped(field(doseForm), up, -5)).toEqual({ inside: 0.01 });
  });

  it('has a decimal comma in German, in the field, in what was kept and in what is possible', async () => {
    await setLanguage('de');
    expect(textOf(field(doseForm), startOf(doseForm)['litres'])).toBe('0,5');
    expect(lastText(formOf({ ...dose, choices: [] }, { litres: 58.5 }))).toBe('Behalten: 58,5 l');
    expect(filledIn(doseForm, { litres: typed(field(doseForm), '0') }, {})).toContain('0,01 bis 1000 l');
    expect(filledIn(doseForm, { litres: typed(field(doseForm), '7,5') }, {})).toEqual({ litres: 7.5 });
  });
});

describe('a change per minute', () => {
  it('is in the unit chosen, without its offset: 1 K/min is 1.8 °F/min', () => {
    expect(rateUnitOf('temperature')).toBe('K/min');
    units.value = { ...insideUnits, temperature: '°F', pressure: 'psi' };
    expect([rateUnitOf('temperature'), rateUnitOf('pressure')]).toEqual(['°F/min', 'psi/min']);
    expect(widthOutward('temperature', 1)).toBeCloseTo(1.8, 9);
  });
});
