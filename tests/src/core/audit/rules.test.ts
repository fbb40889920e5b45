import { describe, expect, it } from 'vitest';
import { simulateRun } from '../../../../simulators/dataset.ts';
import type { RunEvent } from '../../../../src/core/job/event.ts';
import { audit, auditGathered } from '../../../../src/core/audit/audit.ts';
import type { Finding } from '../../../../src/core/audit/finding.ts';
import type { RunRecord } from '../../../../src/core/audit/record.ts';
import { rules } from '../../../../src/core/audit/rules.ts';
import { auditSettingsSchema } from '../../../../src/core/audit/settings.ts';
import { bends } from './bent-jobs.ts';
import { at, type Bent, byTheBook, during, event, job, plus, samples } from './job-by-the-book.ts';

const bookAudit = auditGathered(byTheBook());

const simulated = (family: string, seed: number): RunRecord => {
  const { context, samples, events } = simulateRun(family, seed);
  const entries = events.map((e, i) => ({ id: `row-${i}`, event: e, who: '', wallAt: '' }));
  const head = { runId: family, title: '', simulated: true, startedAt: '', context };
  return { head, entries, samples, chain: null, seal: null };
};

const tell = (findings: readonly Finding[]): string[] => findings.map((f) => `${f.key}: ${f.text}`);

describe('a job by the book', () => {
  it('has no finding, and every rule can be held to it', () => {
    expect(tell(bookAudit.findings)).toEqual([]);
    expect(bookAudit.notApplicable).toEqual([]);
    expect(bookAudit.counts).toEqual({ serious: 0, warning: 0, note: 0 });
    expect(bookAudit.rules.map((r) => r.id)).toEqual(rules.map((r) => r.id));
  });
});

describe('each rule', () => {
  it.each(bends.map((b) => [b[0], b[1], b] as const))('%s finds: %s', (id, _what, [, , bent, key, says]) => {
    const record = job(bent);
    const { findings } = audit(record);
    const found = findings.find((f) => f.key === key);
    expect(tell(findings).join('\n')).toContain(`${key}: `);
    expect(found?.id).toBe(id);
    expect(found?.text).toContain(says);
    expect(found?.why).not.toBe('');
    expect(found?.source).not.toBe('');
    for (const [fromS, toS] of found?.spans ?? []) {
      expect(fromS).toBeGreaterThanOrEqual(0);
      expect(toS).toBeGreaterThanOrEqual(fromS);
      expect(toS).toBeLessThanOrEqual(at.end);
    }
  });

  it('that the bent jobs do not reach is tripped by the simulated rig', () => {
    const keys = (record: RunRecord): string[] => audit(record).findings.map((f) => f.id);
    expect(keys(simulated('leak', 1))).toContain('leak');
    expect(keys(simulated('two-open', 1))).toContain('more-than-one-open');
    expect(keys(simulated('filling-loop', 3))).toContain('filling-loop-open');
  });

  it('has a test here', () => {
    const tested = new Set([
      ...bends.map((b) => b[0]),
      'leak',
      'stayed-after-done',
      'filling-loop-open',
      'chamber-full',
    ]);
    expect(rules.map((r) => r.id).filter((id) => !tested.has(id))).toEqual([]);
  });

  it('of gaps is content with readings that came late', () => {
    const gap: Bent = { sample: during(1200, 1260, () => null) };
    const late = samples.filter((s) => s.timeS >= 1200 && s.timeS < 1260);
    expect(tell(audit(job({ ...gap, record: { late } })).findings)).toEqual([]);
    const half = late.filter((s) => s.timeS < 1230);
    expect(tell(audit(job({ ...gap, record: { late: half } })).findings)).toEqual([
      'data-gap: 1 gap, 31 s in all, 31 s the longest.',
    ]);
  });

  it('of standing water is content with a minute, with a pump that was told off, and between emitters', () => {
    const stood = (fromS: number, toS: number, ...told: readonly RunEvent[]): string[] => {
      const sample = during(fromS, toS, (s) => ({ ...s, flowLpm: 0 }));
      return tell(audit(job({ sample, events: plus(...told) })).findings.filter((f) => f.id === 'water-stood'));
    };
    expect(stood(1400, 1455)).toEqual([]);
    expect(stood(1400, 1600)).toHaveLength(1);
    expect(stood(1400, 1600, event(1405, 'rig-pump-off'), event(1599, 'rig-pump-on'))).toEqual([]);
    expect(stood(1400, 1600, event(1405, 'rig-pump-off'), event(1450, 'rig-pump-on'))).toHaveLength(1);
    expect(stood(at.shut - 30, at.circulate + 30)).toEqual([]);
  });

  it('can be tuned: staying on after done counts from where the firm says', () => {
    const settings = auditSettingsSchema.parse({ rules: { 'stayed-after-done': { thresholds: { forS: 200 } } } });
    const { findings } = auditGathered(byTheBook(), settings);
    expect(tell(findings)[0]).toContain('Hall stayed open for 4 min after it was told done');
  });
});
