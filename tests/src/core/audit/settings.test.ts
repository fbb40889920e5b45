import { describe, expect, it } from 'vitest';
import { auditGathered } from '../../../../src/core/audit/audit.ts';
import { gather } from '../../../../src/core/audit/gather.ts';
import { readAuditSettings } from '../../../../src/core/audit/read-settings.ts';
import { Problem } from '../../../../src/core/message/problem.ts';
import { at, event, byTheBook, job, plus, without } from './job-by-the-book.ts';

const read = (value: unknown) => readAuditSettings(JSON.stringify(value), 'our-rules.json');
const why = (text: string): { code: string; message: string } => {
  try {
    readAuditSettings(text, 'our-rules.json');
  } catch (error) {
    if (error instanceof Problem) return { code: error.code, message: error.message };
    throw error;
  }
  throw new Error('it was taken');
};

describe('a rules file', () => {
  const unprotected = gather(job({ events: without((e) => e.event === 'dose' && e.data?.['what'] === 'inhibitor') }));

  it('may be empty: then the rules are those that ship', () => {
    expect(auditGathered(unprotected, read({}))).toEqual(auditGathered(unprotected));
  });

  it('switches off, weighs otherwise and tunes', () => {
    const off = auditGathered(unprotected, read({ rules: { 'inhibitor-missing': { on: false } } }));
    expect(off.findings).toEqual([]);
    expect(off.rules.some((r) => r.id === 'inhibitor-missing')).toBe(false);
    const mild = auditGathered(unprotected, read({ rules: { 'inhibitor-missing': { severity: 'note' } } }));
    expect(mild.counts).toEqual({ serious: 0, warning: 0, note: 1 });
    const strict = read({ rules: { 'circulation-short': { thresholds: { minutes: 30 } } } });
    const found = auditGathered(unprotected, strict).findings.find((f) => f.id === 'circulation-short');
    expect(found?.figures['wantedMin']).toBe(30);
  });

  it('adds rules of the firm over figures of the run', () => {
    const own = { id: 'many-passes', title: 'Many passes', severity: 'note', figure: 'passes', op: '>=', value: 6 };
    const [found] = auditGathered(byTheBook(), read({ own: [own] })).findings;
    expect(found).toMatchObject({ id: 'many-passes', key: 'many-passes', severity: 'note', figures: { passes: 6 } });
    expect(found?.text).toBe('Passes: 6.0 (>= 6.0).');
    expect(found?.source).toBe('the firm’s own rule');
    const more = auditGathered(byTheBook(), read({ own: [{ ...own, value: 7 }] }));
    expect(more.findings).toEqual([]);
  });

  it('says of a figure that was not measured that its rule cannot be held', () => {
    const own = { id: 'zero', title: 'Zero of flow', severity: 'note', figure: 'kitZeroLpm', op: '>', value: 0.2 };
    const { findings, notApplicable } = auditGathered(byTheBook(), read({ own: [own] }));
    expect(findings).toEqual([]);
    expect(notApplicable).toEqual([
      { id: 'zero', title: 'Zero of flow', because: '"Flow read with the pump off" was not measured in this run.' },
    ]);
  });

  const own = { id: 'a', title: 'A', severity: 'note', figure: 'passes', op: '>', value: 1 };
  it.each([
    ['{"rules": {', 'audit.rules-json', 'our-rules.json is no JSON'],
    ['[]', 'audit.rules-form', 'the whole'],
    ['{"rulez":{}}', 'audit.rules-form', '"rulez" is not known here'],
    ['{"v":2}', 'audit.rules-form', ': v: '],
    ['{"rules":{"data-gap":{"severity":"huge"}}}', 'audit.rules-form', 'rules.data-gap.severity'],
    ['{"rules":{"data-gaps":{"on":false}}}', 'audit.rules-unknown', 'Did you mean "data-gap"?'],
    ['{"rules":{"data-gap":{"thresholds":{"gap":20}}}}', 'audit.rules-threshold', 'it has gapS'],
    ['{"rules":{"data-gap":{"thresholds":{"gapS":1}}}}', 'audit.rules-range', '1 is outside 10 to 3600 s'],
    [JSON.stringify({ own: [{ ...own, figure: 'pases' }] }), 'audit.rules-figure', 'Did you mean "passes"?'],
    [JSON.stringify({ own: [{ ...own, id: 'data-gap' }] }), 'audit.rules-own-id', '"data-gap" is the name of a rule'],
    [JSON.stringify({ own: [own, own] }), 'audit.rules-own-id', '"a" is the name of a rule already'],
    [JSON.stringify({ own: [{ ...own, op: '==' }] }), 'audit.rules-form', 'own.0.op'],
  ])('is refused with what is wrong, where and what to do: %s', (text, code, says) => {
    const refused = why(text);
    expect(refused.code).toBe(code);
    expect(refused.message).toContain('our-rules.json');
    expect(refused.message).toContain(says);
  });
});

describe('what does not apply', () => {
  const because = (record: Parameters<typeof gather>[0]): Record<string, string> => {
    const { notApplicable } = auditGathered(gather(record));
    return Object.fromEntries(notApplicable.map((n) => [n.id, n.because]));
  };
  const found = (record: Parameters<typeof gather>[0]): string[] =>
    auditGathered(gather(record)).findings.map((f) => f.id);

  it('a rig without pressure, temperature and conductivity is told so, and has no finding for it', () => {
    const record = job({
      sample: (s) => ({ ...s, pressureBar: null, returnC: null, supplyC: null, conductivityUsCm: null }),
      events: plus(event(4100, 'typed', { data: { what: 'circulated-min', value: 22 } })),
    });
    expect(because(record)).toMatchObject({
      'pressure-out-of-band': 'Pressure was not measured.',
      'temperature-out-of-band': 'Temperature was not measured.',
      leak: 'Pressure was not measured.',
      'hold-leak': 'Too little pressure was measured during the hold.',
    });
    expect(found(record)).toEqual([]);
  });

  it('a rig without turbidity gives no verdict, and no false finding of gaps, faults or the rinse', () => {
    const record = job({ sample: (s) => ({ ...s, turbidityNtu: null }) });
    const told = because(record);
    expect(Object.keys(told)).toEqual(
      expect.arrayContaining(['data-gap', 'sensor-fault', 'over-range', 'rinse-untold', 'rinse-above-mains']),
    );
    expect(new Set(found(record))).toEqual(new Set(['left-untold']));
  });

  it('a stage that was left out for a reason is noted once, and its own rules are not held against it', () => {
    const record = job({
      events: (all) =>
        all
          .filter((e) => e.event !== 'stage:circulate')
          .map((e) => (e.event === 'stage:rinse' ? { ...e, note: 'no heat in the house' } : e)),
      sample: (s) => ({ ...s, returnC: 35, supplyC: 38 }),
    });
    const told = because(record);
    expect(told['circulation-short']).toBe('The stage was left out. Reason: no heat in the house.');
    expect(found(record)).toEqual(['stage-left-out']);
    expect(auditGathered(gather(record)).findings[0]?.severity).toBe('note');
  });

  it('a run under way has no finding for what is still to come', () => {
    const record = job({
      events: (all) => all.filter((e) => e.timeS < 1950),
      sample: (s) => (s.timeS < 1960 ? s : null),
      record: { seal: null },
    });
    const told = because(record);
    expect(told['never-visited']).toBe('This part of the run is still under way.');
    expect(Object.keys(told)).toEqual(
      expect.arrayContaining([
        'circulation-short',
        'rinse-above-mains',
        'inhibitor-missing',
        'not-sealed',
        'not-handed-over',
      ]),
    );
    expect(found(record).filter((id) => id !== 'left-before-clear')).toEqual([]);
  });

  it('a recording of the emitters and the rinse alone is not asked for samples, doses and signatures', () => {
    const paper = new Set(['sample', 'dose', 'label', 'typed', 'check', 'hold-start', 'hold-end', 'hand-over']);
    const kept = new Set(['stage:emitters', 'stage:circulate', 'stage:rinse']);
    const record = job({
      // Its rinse ends with the recording.
      sample: (s) => (s.timeS < at.after ? s : null),
      events: without(
        (e) =>
          e.timeS > at.after ||
          paper.has(e.event) ||
          (e.event.startsWith('stage:') && !kept.has(e.event)) ||
          e.event === 'calibrated',
      ),
      record: { chain: null, seal: null },
    });
    expect(found(record)).toEqual([]);
    expect(because(record)).toMatchObject({
      'inhibitor-missing': 'This record follows the work on the emitters and the rinse only.',
      'calibration-missing': 'The recording does not say how the kit was calibrated.',
      'record-broken': 'The recording came without chain or seal: nothing can be proved or disproved.',
    });
  });

  it('a run that was imported or replayed has clock times that say nothing', () => {
    const imported = job({ who: () => 'import', wallOff: (t) => -t });
    expect(because(imported)['clock-changed']).toBe('No clock times stand beside the events.');
    expect(found(imported)).toEqual([]);
  });

  it('a clock that was set back is told of a rehearsal too, and where one entry alone stands behind it', () => {
    const lastS = Math.max(...job().entries.map((e) => e.event.timeS));
    const record = job({ wallOff: (t) => (t === lastS ? -7200 : 0) });
    for (const simulated of [false, true])
      expect(found({ ...record, head: { ...record.head, simulated } })).toContain('clock-changed');
    expect(because({ ...job(), head: { ...job().head, simulated: true } })['clock-changed']).toBe(
      'The water was simulated.',
    );
  });

  it('an open-vented system has no band of pressure', () => {
    const record = job({
      context: (c) => ({ ...c, system: 'open-vented' }),
      sample: (s) => ({ ...s, pressureBar: 0.2 }),
    });
    expect(because(record)['pressure-out-of-band']).toBe('Open-vented: pressure is the height of the feed tank.');
  });

  it('a recording without a single event is one visit to nobody, judged as far as it goes', () => {
    const record = job({ events: () => [], record: { chain: null, seal: null } });
    expect(because(record)['done-without-pass']).toBe('The recording has no events.');
    expect(found(record)).not.toContain('never-visited');
  });
});
