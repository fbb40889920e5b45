import { median } from '../../quantity/robust.ts';
import type { Span } from '../finding.ts';
import { type Evidence, found, notApplicable, practice, rule } from '../rule.ts';
import { setBacks } from '../set-back.ts';
import { secondsOfIso } from '../wall-time.ts';

export const clockChanged = rule({
  id: 'clock-changed',
  title: 'Clock of the bridge was set',
  why: 'The run’s own clock is not moved by it, but dates beside the events are, and so is what they prove.',
  source: practice,
  severity: 'note',
  thresholds: {
    jumpS: { default: 60, unit: 's', about: 'jump that is let by', least: 1, most: 86400, looser: 'higher' },
  },
  judge: (run, { jumpS }) => {
    const backs = setBacks(run.input.entries, jumpS).map(({ span, byS }) => evidenceOf(span, byS));
    // Simulated, replayed and imported runs have clocks of their own, faster than the wall's or standing.
    if (run.input.head.simulated) return backs.length > 0 ? found(backs) : notApplicable('simulated');
    const offsets = run.input.entries.flatMap((e) => {
      if (e.who === 'import' || e.who === 'replay') return [];
      const wallS = secondsOfIso(e.wallAt);
      return wallS === null ? [] : [{ timeS: e.event.timeS, offsetS: wallS - e.event.timeS }];
    });
    if (offsets.length < 4) return backs.length > 0 ? found(backs) : notApplicable('no-wall-time');
    const evidence: Evidence[] = [];
    // One entry that was kept late is no jump: three on either side must agree.
    for (let i = 2; i + 2 <= offsets.length; i += 1) {
      const level = (from: number, to: number): number => median(offsets.slice(from, to).map((o) => o.offsetS));
      const [before, here] = [offsets[i - 1], offsets[i]];
      const byS = level(i, i + 3) - level(Math.max(0, i - 3), i);
      if (!before || !here || Math.abs(byS) <= jumpS || Math.abs(here.offsetS - before.offsetS) <= jumpS) continue;
      evidence.push(evidenceOf([before.timeS, here.timeS], byS));
    }
    // One that was set back just before the end has no three entries behind it.
    const told = new Set(evidence.map((e) => e.subject));
    return found([...evidence, ...backs.filter((e) => !told.has(e.subject))]);
  },
});

function evidenceOf(span: Span, byS: number): Evidence {
  return { subject: `${Math.round(span[1])}`, params: { byS }, spans: [span], figures: { byS } };
}
