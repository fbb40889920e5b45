import { Problem } from '../core/message/problem.ts';
import { sealEvent } from '../core/seal/named.ts';
import type { RunStore } from '../store/store.ts';

/** True when nothing goes on with it: its end was told, or it was sealed. */
export function hasEnded(run: RunStore): boolean {
  const events = run.events().map((e) => e.event.event);
  return events.at(-1) === sealEvent || events.findLast((name) => name.startsWith('stage:')) === 'stage:end';
}

/** Throws Problem `seal-not-ended` unless the run was handed over or ended, or its sealing was cut short. */
export function readyToSeal(run: RunStore): void {
  const events = run.events().map((e) => e.event.event);
  const stage = events.findLast((name) => name.startsWith('stage:'))?.slice(6) ?? 'none yet';
  if (stage === 'hand-over' || stage === 'end' || events.includes('hand-over') || events.at(-1) === sealEvent) return;
  throw new Problem('seal-not-ended', { runId: run.head.runId, stage });
}
