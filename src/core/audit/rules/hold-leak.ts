import { stageMissing } from '../coverage.ts';
import { found, notApplicable, practice, rule } from '../rule.ts';

export const holdLeak = rule({
  id: 'hold-leak',
  title: 'Pressure fell during the hold',
  why: 'The rig was joined with a leak, and the work went on.',
  source: practice,
  severity: 'serious',
  thresholds: {
    barPerMin: {
      default: 0,
      unit: 'bar/min',
      about: 'fall that is let by, over and above its uncertainty',
      least: 0,
      most: 1,
      looser: 'higher',
    },
  },
  judge: (run, { barPerMin: most }) => {
    const missing = stageMissing(run, 'join');
    if (missing) return missing;
    const { hold } = run.driven.worked;
    const span = run.driven.job.hold;
    if (!hold || !span) return notApplicable('no-hold');
    if (!hold.ok) return notApplicable('hold-unmeasured');
    const { verdict, barPerMin } = hold.value;
    if (verdict !== 'leak' || Math.abs(barPerMin.value) <= most) return found([]);
    const figures = { barPerMin: Math.abs(barPerMin.value), u: barPerMin.u };
    return found([
      { subject: '', stage: 'join', params: figures, spans: [[span.fromS, span.toS ?? run.endS]], figures },
    ]);
  },
});
