import { stageNames } from '../../job/event.ts';
import { stageOf } from '../../job/stages.ts';
import { isOver, tellsWholeJob } from '../coverage.ts';
import { type Evidence, found, notApplicable, practice, rule } from '../rule.ts';

export const stageLeftOut = rule({
  id: 'stage-left-out',
  title: 'Stage left out',
  why: 'Each stage is there for the next. With a reason it may be right; without one nobody can tell.',
  source: practice,
  severity: 'warning',
  thresholds: {},
  judge: (run) => {
    if (!tellsWholeJob(run)) return notApplicable('part-recorded');
    const { course, stage: now } = run.driven.job;
    const last = isOver(run) ? stageNames.length : stageNames.findIndex((s) => s === now);
    return found(
      stageNames.slice(0, Math.max(0, last)).flatMap((stage): Evidence[] => {
        const { status, why, times } = course[stage];
        if (times > 0 || (status !== 'skipped' && status !== 'to-come')) return [];
        const reason = why.trim();
        const params = { stage: stageOf(stage)?.title ?? stage, why: reason };
        const severity = reason === '' ? 'warning' : 'note';
        return [{ subject: stage, stage, severity, params, spans: [], figures: {} }];
      }),
    );
  },
});
