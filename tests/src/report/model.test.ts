import { describe, expect, test } from 'vitest';
import { reportHtml } from '../../../src/report/html.ts';
import { factNames } from '../../../src/report/facts.ts';
import type { ReportInput } from '../../../src/report/gather.ts';
import { whoWords } from '../../../src/core/job/who.ts';
import { cellWords } from '../../../src/report/block.ts';
import { makeReport, type Report } from '../../../src/report/model.ts';
import type { RunEvent } from '../../../src/core/job/event.ts';
import { inFours } from '../../../src/core/seal/seal.ts';
import { demoInput, demoRun } from './demo-run.ts';

const run = demoRun();
const whole = makeReport(demoInput(run, { sealed: true }));

/** The same run with an event more, or fewer. */
function withEvents(change: (events: readonly RunEvent[]) => readonly RunEvent[], sealed = false): Report {
  return makeReport(demoInput({ ...run, events: change(run.events) }, { sealed }));
}
const text = (report: Report): string => JSON.stringify(report.sections);

describe('a report', () => {
  test('says every field that a record must have, or why it is not there', () => {
    expect(Object.keys(whole.facts).toSorted()).toEqual([...factNames].toSorted());
    for (const { label, fact } of Object.values(whole.facts)) {
      expect(label).not.toBe('');
      expect('said' in fact ? fact.said : fact.missing).toMatch(/\S/);
    }
  });

  test('names each thing that is not recorded on its first page, and the reason further on', () => {
    expect(whole.notMeasured.length).toBeGreaterThan(0);
    const first = JSON.stringify(whole.sections[0]);
    for (const { label, because } of whole.notMeasured) {
      expect(first).toContain(label);
      expect(text(whole)).toContain(because.replaceAll('"', '\\"'));
    }
  });

  test('has its parts in their order, the summary first', () => {
    expect(whole.sections.map((s) => s.id)).toEqual([
      'summary',
      'survey',
      'stages',
      'emitters',
      'water',
      'rinse',
      'photos',
      'record',
      'kit',
      'seal',
      'figures',
    ]);
  });

  test('tells a dose of far more than the label wants among the exceptions', () => {
    const slipped = withEvents((all) =>
      all.map((e) => (e.event === 'dose' ? { ...e, data: { ...e.data, litres: 60 } } : e)),
    );
    // Before the reasons of every stage that was left, of which the first page shows the first few.
    expect(slipped.exceptions[0]).toMatch(/60\.0 l of cleaner added: about \d+ % of what the label wants/);
    expect(whole.exceptions.join()).not.toMatch(/of what the label wants/);
  });

  test('says of a figure of the water after that it is the rig\u2019s own reading', () => {
    const read = withEvents((all) =>
      all.map((e) =>
        e.event === 'sample' && e.data?.['water'] === 'after'
          ? { ...e, data: { ...e.data, turbidity: 2, turbidityBy: 'rig' } }
          : e,
      ),
    );
    expect(text(read)).toContain("2.00 NTU (rig's sensor)");
    expect(text(whole)).not.toContain("rig's sensor)");
  });

  test('names ticks, people and devices in words, never by their internal names', () => {
    const ticked = withEvents((all) => [
      ...all,
      ...['rig-in-line', 'each-heats'].map((note) => ({ timeS: 5900, event: 'check', emitter: '', note })),
    ]);
    expect(text(ticked)).toContain('Rig fitted in line');
    expect(text(ticked)).toContain('Each emitter heats');
    expect(text(ticked)).toContain('paired device 1a2b3c4d');
    expect(text(ticked)).not.toMatch(/"device-|rig.in.line|docs\//);
    expect(whoWords('loopback')).toBe('at the bridge itself');
  });

  test('carries who, where, what was added, cautions and labels as they were told', () => {
    const said = Object.fromEntries(
      Object.entries(whole.facts).map(([name, { fact }]) => [name, 'said' in fact ? fact.said : null]),
    );
    expect(said).toMatchObject({
      engineer: 'A. Engineer',
      client: 'B. Client',
      site: '7 Example Row, Sampleton',
      cleaner: '0.60 l added',
      inhibitor: '0.60 l added',
      cautions: '3',
    });
    expect(text(whole)).toContain('cleaner: 0.5 l/100 l, batch B7');
    expect(text(whole)).toContain('Lead the hose to a foul drain');
    expect(text(whole)).toContain('turbidity-2026-02');
  });

  test('goes by the survey of the run where nothing was known before', () => {
    const rows: RunEvent[] = run.context.emitters.map((e, i) => ({
      timeS: 10 + i,
      event: 'survey-row',
      emitter: '',
      note: '',
      data: { kind: 'emitter', id: e.id, name: `Room ${i}`, type: 'panel', material: 'steel', litres: e.volume_l },
    }));
    const bare = { ...run, context: { ...run.context, emitters: [] }, events: [...run.events, ...rows] };
    const events = bare.events.toSorted((a, b) => a.timeS - b.timeS);
    const report = makeReport(demoInput({ ...bare, events }, { sealed: false }));
    expect(report.headline).toContain(`of ${rows.length} emitters`);
    expect(report.facts.surveyLitres.fact).toHaveProperty('said');
    expect(text(report)).toContain('Room 3');
  });

  test('of a run without any event is a report still', () => {
    const bare: ReportInput = { ...demoInput({ ...run, events: [] }, { sealed: false }), chain: null };
    const report = makeReport({ ...bare, samples: bare.samples.slice(0, 600) });
    expect(report.headline).toMatch(/^0 of 1 emitter done/);
    expect(report.marks).toContain('Draft: not sealed');
    expect(text(report)).toContain('No stage was marked');
  });

  test('of a run without any reading is a report still', () => {
    const report = makeReport({ ...demoInput({ ...run, events: [] }, { sealed: false }), samples: [] });
    expect(text(report)).toContain('Turbidity was not measured in this run.');
  });
});

describe('exceptions', () => {
  test('an override comes first, with who and why', () => {
    const visited = run.events.find((e) => e.event === 'emitter-open');
    const override: RunEvent = {
      timeS: (visited?.timeS ?? 0) + 20,
      event: 'override',
      emitter: visited?.emitter ?? '',
      note: 'the client wants to go',
    };
    const report = withEvents((events) => [...events, override].toSorted((a, b) => a.timeS - b.timeS));
    expect(report.exceptions[0]).toContain('Reason: the client wants to go');
    expect(report.exceptions[0]).toContain('paired device 1a2b3c4d');
  });

  test('each emitter that is not done is one, and none that is', () => {
    const summary = whole.sections[0]?.blocks.find((b) => b.kind === 'table');
    for (const [name = '', , , result] of summary?.rows ?? [])
      expect(whole.exceptions.some((e) => e.split(':')[0]?.split(', ').includes(cellWords(name)))).toBe(
        result !== 'Done',
      );
  });

  test('a stage left for a reason is one, with the stage that was left', () => {
    const report = withEvents((events) =>
      events.map((e) => (e.event === 'stage:dose' ? { ...e, note: 'the meter stuck' } : e)),
    );
    expect(report.exceptions).toContain('Went on from "Fill cold" at 0:28:50. Reason: the meter stuck.');
  });

  test('a water test outside its limit is one', () => {
    const bad = withEvents((events) =>
      events.map((e) => (e.data?.['water'] === 'after' ? { ...e, data: { ...e.data, ph: 6.2 } } : e)),
    );
    expect(bad.exceptions).toContain('Water after: pH is outside its limit (8.20 to 10.0).');
    expect(whole.exceptions.join()).not.toContain('outside its limit');
  });

  test('a gap in the readings is one', () => {
    const input = demoInput(run, { sealed: false });
    const middle = input.samples[2000]?.timeS ?? 0;
    const samples = input.samples.filter((s) => s.timeS < middle || s.timeS > middle + 60);
    expect(makeReport({ ...input, samples }).exceptions.join()).toContain(
      '1 gap of over 10 s in the readings, 60 s in all',
    );
  });

  test('what was taken back is none', () => {
    const skip = run.events.findIndex((e) => e.event === 'skip');
    const undo: RunEvent = {
      timeS: 5200,
      event: 'undo',
      emitter: '',
      note: '',
      data: { undoes: `e${skip}`, of: 'skip' },
    };
    const report = withEvents((events) => [...events, undo]);
    const leftOut = (r: Report): number =>
      r.exceptions
        .find((e) => e.includes('fitted furniture'))
        ?.split(':')[0]
        ?.split(', ').length ?? 0;
    expect(leftOut(report)).toBe(leftOut(whole) - 1);
  });
});

describe('marks', () => {
  test('a draft says so, simulated water says so, a sealed real run says neither', () => {
    expect(withEvents((e) => e).marks).toEqual(['Draft: not sealed', 'Simulated water']);
    expect(whole.marks).toEqual(['Simulated water']);
    expect(makeReport(demoInput(run, { sealed: true, simulated: false })).marks).toEqual([]);
  });

  test('what was found against the record is said before all else, and its last entry is not shown as a proof', () => {
    const faults = [
      { code: 'stored-chain-broken', params: { kind: 'changed', index: 7, count: 1 } },
      ...Array.from({ length: 20 }, () => ({ code: 'stored-samples-gone', params: { fromS: 60, toS: 119 } })),
    ];
    const hash = demoInput(run, { sealed: true }).chain?.hash ?? '';
    for (const sealed of [true, false]) {
      const report = makeReport({ ...demoInput(run, { sealed }), faults });
      expect(report.marks).toContain('The record was changed');
      expect(report.exceptions[0]).toMatch(/entry 7 was changed after it was kept\..* 20 more under "Seal"\.$/);
      const seal = report.sections.find((s) => s.id === 'seal')?.blocks ?? [];
      expect(seal.map((b) => b.kind)).not.toContain('code');
      expect(JSON.stringify(report)).not.toContain(inFours(hash));
      expect(JSON.stringify(seal)).toContain('from 60 s to 119 s that the chain holds are missing');
      expect(JSON.stringify(seal)).toContain('and 9 more');
      expect(JSON.stringify(report.facts.seal).includes('not the record that was sealed')).toBe(sealed);
    }
    expect(whole.marks).not.toContain('The record was changed');
    expect(text(whole)).toContain(inFours(hash));
  });

  test('a seal by another key than the record names is said to be that, and not that the record was changed', () => {
    const input = demoInput(run, { sealed: true });
    const params = { by: 'A. Engineer', key: '0000 1111', found: input.seal?.fingerprint ?? '' };
    const report = makeReport({ ...input, faults: [{ code: 'seal-other-key', params }] });
    expect(report.marks).toEqual(['Sealed by another key', 'Simulated water']);
    expect(report.exceptions[0]).toMatch(
      /^The seal is not the one that closed this record, so nothing in it is proved\./,
    );
    expect(JSON.stringify(report.facts.seal)).toContain('but by another key than the record names');
    expect(text(report)).not.toContain('The record was changed');
    expect(text(report)).not.toContain(inFours(input.chain?.hash ?? ''));
  });

  test('stand on every printed page of the page for a browser, not on the first alone', () => {
    expect(reportHtml(whole)).toContain('<p class="each" aria-hidden="true">Simulated water</p>');
    const real = makeReport(demoInput(run, { sealed: true, simulated: false }));
    expect(reportHtml(real)).not.toContain('<p class="each"');
  });

  test('a record that was sealed and whose seal is not here is no draft: when, by whom, and what to do', () => {
    const sealed = { timeS: 6000, event: 'seal', emitter: '', note: '', data: { by: 'A. Engineer', key: '0011 2233' } };
    const input = demoInput({ ...run, events: [...run.events, sealed] }, { sealed: false });
    const named = { by: 'A. Engineer', key: '0011 2233', at: '2026-03-04T10:20:00.000Z' };
    const entries = input.entries.map((e) => (e.event.event === 'seal' ? { ...e, wallAt: named.at } : e));
    const taken = makeReport({ ...input, entries });
    expect(taken.marks).toEqual(['Sealed, and the seal is not here', 'Simulated water']);
    expect(taken.exceptions[0]).toMatch(
      /A\. Engineer sealed this record on 2026-03-04 10:20 UTC with the key 0011 2233\. .*limpid import/,
    );
    const line = '2026-03-04 10:20 UTC by A. Engineer; the sealed copy is not here';
    expect(taken.facts.seal.fact).toEqual({ said: line });
    expect(text(taken)).not.toMatch(/Draft|not sealed yet/);
    const cut = makeReport({ ...input, entries, sealGone: { code: 'seal-cut-short', params: named } });
    expect(cut.marks[0]).toBe('Draft: its sealing was cut short');
    expect(cut.facts.seal.fact).toHaveProperty('said', expect.stringContaining('cut short before anything was signed'));
  });

  test('a clock that was set back is said: else a run is sealed before it began', () => {
    const input = demoInput(run, { sealed: true });
    const entries = input.entries.map((e, i) => ({
      ...e,
      wallAt: `2026-03-04T${i < input.entries.length - 1 ? '10' : '09'}:20:00.000Z`,
    }));
    const report = makeReport({ ...input, entries });
    expect(report.exceptions[0]).toMatch(/^The clock of the bridge was set back by 1:00 h between 1:\S+ and 1:\S+: /);
    expect(whole.exceptions.join()).not.toContain('set back');
  });

  test('a sealing that was cut short before the one that stands is told beside it', () => {
    const seal = (timeS: number, key: string): RunEvent => ({
      timeS,
      event: 'seal',
      emitter: '',
      note: '',
      data: { by: 'A. Engineer', key },
    });
    const events = [...run.events, seal(6000, '0011 2233'), seal(6001, '4455 6677')];
    const report = makeReport(demoInput({ ...run, events }, { sealed: true }));
    expect(report.marks).toEqual(['Simulated water']);
    const told = JSON.stringify(report.sections.find((s) => s.id === 'seal'));
    expect(told).toMatch(/with the key 0011 2233 was cut short/);
    expect(told).not.toContain('4455 6677 was cut short');
  });

  test('a seal that does not fit is said before all else', () => {
    const input = demoInput(run, { sealed: true });
    const report = makeReport({ ...input, seal: input.seal && { ...input.seal, state: 'broken' } });
    expect(report.marks[0]).toBe('The seal does not fit this record');
    expect(report.exceptions[0]).toContain('limpid verify');
  });
});

describe('the page', () => {
  const html = reportHtml(whole);

  test('needs nothing from elsewhere and runs nothing', () => {
    expect(html.replaceAll('src="data:image/png;base64,', '')).not.toMatch(/<script|<link|src=|url\(/);
    expect(html).toContain("default-src 'none'");
  });

  test('has a language, a title, one first heading, and words for each drawing', () => {
    expect(html).toContain('<html lang="en">');
    expect(html).toContain('<title>Clean of 7 Example Row (run-20260304-0805)</title>');
    expect(html.match(/<h1>/g)).toHaveLength(1);
    const drawings = html.match(/<svg /g)?.length ?? 0;
    expect(drawings).toBeGreaterThan(5);
    expect(html.match(/<svg role="img" aria-label="[^"]{10,}"/g)).toHaveLength(drawings);
    expect(html).toContain('scope="col"');
    expect(html.match(/<table>/g)?.length).toBe(html.match(/<caption>/g)?.length);
  });

  test('shows what people typed as text', () => {
    const report = withEvents((events) => [
      ...events,
      { timeS: 5300, event: 'note', emitter: '', note: '<img src=x onerror=alert(1)> & "so"\u0000' },
    ]);
    expect(reportHtml(report)).toContain('&lt;img src=x onerror=alert(1)&gt; &amp; &quot;so&quot;</td>');
  });
});
