import { type StageName, stageNames } from '../../job/event.ts';
import { stageOf } from '../../job/stages.ts';
import { isOver, tellsWholeJob } from '../coverage.ts';
import type { Gathered } from '../gather.ts';
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
    const byReason = new Map<string, StageName[]>();
    for (const { stage, why } of leftOut(run)) byReason.set(why, [...(byReason.get(why) ?? []), stage]);
    // Stages that were left out together, for one reason, are one matter.
    return found(
      [...byReason].map(([why, stages]): Evidence => {
        const titles = stages.map((s) => `"${stageOf(s)?.title ?? s}"`);
        return {
          subject: stages.join('+'),
          ...(stages.length === 1 && stages[0] ? { stage: stages[0] } : {}),
          severity: why === '' ? 'warning' : 'note',
          params: { stages: titles.join(', '), count: stages.length, why },
          spans: [],
          figures: { stages: stages.length },
        };
      }),
    );
  },
});

function leftOut(run: Gathered): { readonly stage: StageName; readonly why: string }[] {
  const { course, stage: now } = run.driven.job;
  const last = isOver(run) ? stageNames.length : stageNames.findIndex((s) => s === now);
  return stageNames.slice(0, Math.max(0, last)).flatMap((stage, i) => {
    const { status, why, times } = course[stage];
    if (times > 0 || (status !== 'skipped' && status !== 'to-come')) return [];
    return [{ stage, why: (status === 'skipped' ? why : whyBegunLater(run, i)).trim() }];
  });
}

/** Of a stage before the first that was entered: what was said on entering that one. */
function whyBegunLater(run: Gathered, index: number): string {
  const first = run.active.find(({ event }) => stageNames.some((s) => event.event === `stage:${s}`))?.event;
  return first && stageNames.findIndex((s) => first.event === `stage:${s}`) > index ? first.note : '';
}
