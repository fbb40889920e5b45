import { describe, expect, test } from 'vitest';
import { reportHtml } from '../../../src/report/html.ts';
import { makeReport, type Report } from '../../../src/report/model.ts';
import { demoInput, demoRun } from './demo-run.ts';
import { halfDone } from './demo-variants.ts';

const run = demoRun();
const input = demoInput(run, { sealed: true });
const whole = makeReport(input);
const words = (report: Report, id: string): string => JSON.stringify(report.sections.find((s) => s.id === id));

describe('in the units of the run', () => {
  const units = { pressure: 'psi', flow: 'US gal/min', volume: 'US gal', temperature: '°F' };
  const told = { timeS: 1, event: 'units', emitter: '', note: '', data: units };
  const american = makeReport(demoInput({ ...run, events: [told, ...run.events] }, { sealed: true }));

  test('figures, tables, axes and sentences are in them, and say which gallon', () => {
    // 0.6 l of cleaner by the US gallon of 3.785411784 l.
    expect(american.facts.cleaner.fact).toEqual({ said: '0.16 US gal added' });
    expect(words(american, 'stages')).toMatch(/ to [0-9.]+ psi/);
    expect(words(american, 'figures')).toContain('Flow, US gal/min');
    expect(words(american, 'emitters')).toContain('Water, US gal');
    expect(words(american, 'emitters')).toMatch(/US gal since the last pass, \d[\d.]* US gal needed/);
  });

  test('no litre, bar or degree Celsius of ours is left, but for the label rate as it was typed', () => {
    const said = american.sections
      .filter((s) => s.id !== 'kit' && s.id !== 'record')
      .map((s) => JSON.stringify(s))
      .join(' ')
      .replaceAll('l/100 l', '')
      .replaceAll('at 25 °C', '');
    expect(said).not.toMatch(/\d (l|bar|l\/min)\b(?!\/)/);
    expect(said).not.toMatch(/\d °C/);
  });
});

describe('photos', () => {
  test('stand in a part of their own, with the hash by which the record knows them', () => {
    expect(words(whole, 'photos')).toMatch(/SHA-256 [0-9a-f]{64}/);
    expect(reportHtml(whole)).toMatch(
      /<img src="data:image\/png;base64,[A-Za-z0-9+/]+=*" alt="Sludge from the first chamber">/,
    );
    expect(whole.facts.photos.fact).toEqual({ said: '1, shown below' });
  });

  test('one that is gone or was changed is an exception, and said in its place', () => {
    const without = makeReport({ ...input, beside: { details: null, photos: new Map() } });
    expect(without.exceptions.some((e) => e.includes('is not there, or was changed'))).toBe(true);
    expect(words(without, 'photos')).toContain('Not there, or changed');
  });

  test('a run without any has no such part, and says so', () => {
    const half = makeReport(demoInput(halfDone(run), { sealed: false }));
    expect(half.sections.some((s) => s.id === 'photos')).toBe(false);
    expect(half.facts.photos.fact).toEqual({ missing: 'none were taken' });
    expect(half.marks).toContain('Draft: not sealed');
  });
});

describe('names of client and place', () => {
  const signed = {
    ...run,
    context: { ...run.context, site: '' },
    events: run.events.map((e) => (e.event === 'hand-over' ? { ...e, data: { engineer: 'A. Engineer' } } : e)),
  };
  const apart = (details: NonNullable<typeof input.beside>['details']): Report =>
    makeReport({ ...demoInput(signed, { sealed: true }), beside: { details, photos: new Map() } });

  test('come from the file that stands apart', () => {
    const { facts } = apart({ client: 'C. Owner', site: '9 Sample Lane' });
    expect([facts.client.fact, facts.site.fact]).toEqual([{ said: 'C. Owner' }, { said: '9 Sample Lane' }]);
  });

  test('left out of a copy, they are said to be, and stand nowhere in it', () => {
    const report = apart('left-out');
    expect(report.facts.client.fact).toEqual({ missing: 'left out of this copy' });
    expect(JSON.stringify(report)).not.toContain('B. Client');
  });
});

describe('the time', () => {
  test('is told by the clock on the wall too, where the bridge knew its zone', () => {
    const zoned = { ...run, context: { ...run.context, utc_offset_min: -210 } };
    expect(makeReport(demoInput(halfDone(zoned), { sealed: false })).facts.localTime.fact).toEqual({
      said: "started 2026-03-04 04:35 (UTC-3:30, as the bridge's clock was set)",
    });
    expect(whole.facts.localTime.fact).toEqual({ missing: 'times are kept in UTC only' });
  });
});

describe('what was weighed, emptied and turned', () => {
  test('is told in figures', () => {
    expect(whole.facts.sludge.fact).toEqual({ said: '640 g, wet' });
    expect(whole.facts.chambers.fact).toEqual({ said: '1 time' });
    expect(whole.facts.reversed.fact).toEqual({ said: '1 time' });
    expect(whole.facts.strength.fact).toEqual({ said: "100 % of the label's" });
    expect(words(whole, 'record')).toContain('Flow reversed');
  });
});

describe('charts in figures', () => {
  test('hold every chart: the run, each visit, the rinse', () => {
    const captions = whole.sections
      .find((s) => s.id === 'figures')
      ?.blocks.flatMap((b) => (b.kind === 'table' ? [b.caption] : []));
    expect(captions).toEqual(['The whole run', 'Turbidity of each visit, NTU', 'The rinse']);
  });

  test('say the highest value that is in the readings', () => {
    const most = Math.max(...run.samples.map((s) => s.turbidityNtu ?? 0));
    expect(words(whole, 'figures')).toContain(`to ${most.toFixed(0)}`);
  });
});
