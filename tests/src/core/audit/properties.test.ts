import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { auditGathered } from '../../../../src/core/audit/audit.ts';
import { countOpen } from '../../../../src/core/audit/finding.ts';
import { gather } from '../../../../src/core/audit/gather.ts';
import { rules } from '../../../../src/core/audit/rules.ts';
import { auditSettingsSchema } from '../../../../src/core/audit/settings.ts';
import { summarise } from '../../../../src/core/audit/summary.ts';
import { figureList } from '../../../../src/core/audit/figures.ts';
import { at, event, byTheBook, job, plus, without } from './job-by-the-book.ts';

/** Jobs in which much is amiss at once, gathered once: tuning a rule needs no new fold. */
const messy = [
  job({
    events: (all) =>
      plus(
        event(at.hall + 500, 'override', { emitter: 'hall' }),
        event(2000, 'kit-hello', { data: { kit: 'other', firmware: '1' } }),
      )(without((e) => e.event === 'stage:warm' || e.data?.['water'] === 'before' || e.event === 'calibrated')(all)),
    sample: (s) => {
      if (s.timeS > 1300 && s.timeS < 1400) return null;
      const isHot = s.timeS > 3000 && s.timeS < 3060;
      return {
        ...s,
        turbidityNtu: s.timeS > at.rinse ? (s.turbidityNtu ?? 0) + 6 : s.turbidityNtu,
        pressureBar: s.timeS > 1500 && s.timeS < 1580 ? 2.7 : s.pressureBar,
        supplyC: isHot ? 90 : s.supplyC,
        returnC: s.timeS > at.circulate && s.timeS < at.rinse - 500 ? 40 : s.returnC,
        conductivityUsCm: s.timeS > at.rinse ? 700 : s.conductivityUsCm,
      };
    },
    wallOff: (t) => (t > 2500 ? -7200 : 0),
    record: { seal: null },
  }),
  job({
    events: without((e) => e.event.startsWith('agitate') && e.timeS > at.hall + 200),
    sample: (s) => ({ ...s, turbidityNtu: s.timeS > 1250 && s.timeS < 1400 ? 8.4 : s.turbidityNtu }),
  }),
].map((record) => gather(record));

const tuned = rules.flatMap((r) => Object.entries(r.thresholds).map(([name, t]) => ({ rule: r, name, t })));

describe('findings', () => {
  it('lie within the run, in the order of time, with figures that are numbers, each under a key of its own', () => {
    for (const run of messy) {
      const { findings } = auditGathered(run);
      expect(findings.length).toBeGreaterThan(1);
      expect(new Set(findings.map((f) => f.key)).size).toBe(findings.length);
      for (const f of findings) {
        let lastS = 0;
        for (const [fromS, toS] of f.spans) {
          expect(fromS).toBeGreaterThanOrEqual(lastS);
          expect(toS).toBeGreaterThanOrEqual(fromS);
          expect(toS).toBeLessThanOrEqual(run.endS);
          lastS = fromS;
        }
        for (const value of Object.values(f.figures)) expect(Number.isFinite(value)).toBe(true);
        expect(f.text).not.toMatch(/NaN|undefined|Infinity|audit\./);
      }
    }
  });

  it.each(tuned.map((t) => [`${t.rule.id}.${t.name}`, t] as const))(
    'never become more when %s is loosened',
    (_n, one) => {
      const { rule, name, t } = one;
      const defaults = Object.fromEntries(Object.entries(rule.thresholds).map(([k, v]) => [k, v.default]));
      const most = Math.min(t.most, t.default * 20 + 100);
      const least = Math.max(t.least, t.default === 0 ? -1 : 0);
      fc.assert(
        fc.property(
          fc.double({ min: least, max: most, noNaN: true }),
          fc.double({ min: least, max: most, noNaN: true }),
          (a, b) => {
            const [tight, loose] = (t.looser === 'higher') === a <= b ? [a, b] : [b, a];
            for (const run of messy) {
              const of = (value: number): number => {
                const judged = rule.judge(run, { ...defaults, [name]: value });
                return judged.applies ? judged.found.length : 0;
              };
              expect(of(loose)).toBeLessThanOrEqual(of(tight));
            }
          },
        ),
        { numRuns: 12 },
      );
    },
  );

  it('are the same again for the same record, and switching a rule off takes just its own away', () => {
    for (const run of messy) {
      const all = auditGathered(run);
      expect(auditGathered(run)).toEqual(all);
      for (const id of new Set(all.findings.map((f) => f.id))) {
        const rest = auditGathered(run, auditSettingsSchema.parse({ rules: { [id]: { on: false } } }));
        expect(rest.findings).toEqual(all.findings.filter((f) => f.id !== id));
      }
    }
  });

  it('make the whole grade: their count by severity, less those that were closed', () => {
    const { findings, counts } = auditGathered(messy[0] ?? byTheBook());
    expect(counts.serious + counts.warning + counts.note).toBe(findings.length);
    const closed = new Set(findings.filter((f) => f.severity === 'serious').map((f) => f.key));
    expect(countOpen(findings, closed)).toEqual({ ...counts, serious: 0 });
  });
});

describe('a summary', () => {
  it('is plain JSON of a few kilobytes, with every figure by its name', () => {
    const run = byTheBook();
    const summary = summarise(run, auditGathered(run));
    expect(JSON.parse(JSON.stringify(summary))).toEqual(summary);
    expect(JSON.stringify(summary).length).toBeLessThan(4000);
    expect(Object.keys(summary.figures)).toEqual(Object.keys(figureList));
    expect(summary).toMatchObject({
      v: 2,
      engineer: 'A. Engineer',
      site: 'Sampleton',
      rig: 'urn:dev:mac:0024befffe804ff1',
      stage: 'end',
      sealed: 'good',
      findings: {},
    });
    expect(summary.figures).toMatchObject({ emittersDone: 2, passes: 6, overrides: 0, inhibitorL: 0.35 });
    expect(summary.visits.map((v) => [v.name, v.type, v.passes, v.done])).toEqual([
      ['Hall', 'panel', 3, true],
      ['Kitchen', 'column', 3, true],
    ]);
  });
});

describe('the golden audit', () => {
  it('of the messy jobs reads as it did (made anew by npx vitest -u, and looked through as a diff)', async () => {
    const lines = messy.flatMap((run, i) => [
      `# job ${i + 1}`,
      ...auditGathered(run).findings.flatMap((f) => [
        `${f.severity} ${f.key}`,
        `  ${f.title}. ${f.text}`,
        `  ${f.spans.map(([a, b]) => `${a.toFixed(0)}-${b.toFixed(0)}`).join(' ')} ${JSON.stringify(rounded(f.figures))}`,
      ]),
    ]);
    await expect(`${lines.join('\n')}\n`).toMatchFileSnapshot('golden-audit.txt');
  });
});

const rounded = (figures: Readonly<Record<string, number>>): Record<string, number> =>
  Object.fromEntries(Object.entries(figures).map(([name, value]) => [name, Math.round(value * 100) / 100]));
