import type { Message } from '../message/message.ts';
import type { RunEvent } from './event.ts';
import type { Entry, JobState } from './state.ts';

/**
 * No pass ends so soon after another one: five sweeps take longer. Two tablets, a finger that presses twice and the kit's
 * button beside the page come within it. Run-clock seconds.
 */
const samePressS = 3;

/** When it was pressed; what waited for the link says so beside the time at which it was entered. */
function pressedS(timeS: number, data: RunEvent['data']): number {
  const own = data?.['tappedS'] ?? data?.['pressedS'];
  return typeof own === 'number' ? own : timeS;
}

/** The pass of this visit that was told by the same press, and the words for it; null: this one is another pass. */
export function samePress(
  { job, log, undone }: JobState,
  timeS: number,
  data: RunEvent['data'],
): { readonly already: string; readonly remark: Message } | null {
  const ownS = pressedS(timeS, data);
  const apartS = ({ event }: Entry): number => Math.abs(ownS - pressedS(event.timeS, event.data));
  const before = log.findLast(
    (e) =>
      e.event.event === 'agitate-end' &&
      job.passesS.includes(e.event.timeS) &&
      !undone.has(e.id) &&
      apartS(e) < samePressS,
  );
  return before
    ? {
        already: before.id,
        remark: { code: 'job.same-press', params: { apartS: Math.round(10 * apartS(before)) / 10 } },
      }
    : null;
}
