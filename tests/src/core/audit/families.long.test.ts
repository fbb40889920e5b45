import { describe, expect, it } from 'vitest';
import { familyNames, simulateRun } from '../../../../simulators/dataset.ts';
import { auditGathered } from '../../../../src/core/audit/audit.ts';
import { gather } from '../../../../src/core/audit/gather.ts';
import { rules } from '../../../../src/core/audit/rules.ts';

describe('the audit of a simulated run', () => {
  it.each(familyNames)('of the family %s is sound: each rule is held or says why not', (family) => {
    for (const seed of [1, 2]) {
      const { context, samples, events } = simulateRun(family, seed, { visits: 4 });
      const entries = events.map((event, i) => ({ id: `row-${i}`, event, who: '', wallAt: '' }));
      const head = { runId: family, title: '', simulated: true, startedAt: '', context };
      const run = gather({ head, entries, samples, chain: null, seal: null });
      const { findings, notApplicable } = auditGathered(run);
      const silent = new Set(notApplicable.map((n) => n.id));
      for (const f of findings) {
        expect(silent.has(f.id)).toBe(false);
        expect(f.text).not.toMatch(/NaN|undefined|Infinity|audit\./);
        for (const [fromS, toS] of f.spans) expect(0 <= fromS && fromS <= toS && toS <= run.endS).toBe(true);
      }
      for (const n of notApplicable) expect(n.because).toMatch(/^[A-Z"].*\.$/);
      expect(silent.size).toBeLessThan(rules.length);
      // Papers that the simulator does not write are not asked for.
      for (const id of ['samples-missing', 'inhibitor-missing', 'not-handed-over', 'record-broken', 'not-sealed'])
        expect(silent.has(id)).toBe(true);
    }
  });
});
