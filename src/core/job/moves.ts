import type { Message } from '../message/message.ts';
import { stageNames } from './event.ts';
import { isStageName } from './record.ts';
import { nextStage, type StageId, stageOf } from './stages.ts';
import type { CautionId } from './stages/cautions.ts';
import { cautions } from './stages/cautions.ts';
import { stageSpecs } from './stages/table.ts';
import type { Job } from './state.ts';

/** Gating cautions, still unread, that stand before a move to this stage: those of leaving and those of entering. */
export function entryCautions(job: Job, to: StageId): readonly CautionId[] {
  const isOnward =
    isStageName(job.stage) &&
    (to === 'end' || (isStageName(to) && stageNames.indexOf(to) > stageNames.indexOf(job.stage)));
  const leave = isStageName(job.stage) && isOnward ? (stageSpecs[job.stage].leaveAfter ?? []) : [];
  const enter = isStageName(to) ? (stageSpecs[to].enterAfter ?? []) : [];
  return [...leave, ...enter].filter((id) => !job.cautionsRead.includes(id));
}

/**
 * May the run move to this stage? Any way is open, forward, back and across; out of the usual order, or with something
 * missing, it takes a reason. Only a gating caution stands in the way until it was read.
 */
export function refuseMove(job: Job, to: StageId, note: string, missing: readonly string[]): Message | null {
  const [caution] = entryCautions(job, to);
  if (caution) return { code: 'job.caution-unread', params: { ...cautions[caution], gates: 1 } };
  // A run that has not begun, or stands at the baseline, leaves nothing undone.
  if (!isStageName(job.stage) || note.trim() !== '') return null;
  if (to === nextStage(job.stage) && missing.length === 0) return null;
  const title = (id: StageId): string => stageOf(id)?.title ?? id;
  return { code: 'job.stage-why', params: { from: title(job.stage), to: title(to), missing: missing.join(' ') } };
}
