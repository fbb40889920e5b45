import type { Verdict } from '../line/verdict.ts';

/** How a rinse stood when it was left: `briefly` is under its limits, but not for long enough to be told at mains level. */
export type RinseEnd = 'at-mains' | 'briefly' | 'above-mains' | 'untold';

export function rinseEndOf({ state, reason: { figures } }: Pick<Verdict, 'state' | 'reason'>): RinseEnd {
  if (state === 'clear') return 'at-mains';
  if (state === 'cannot-tell') return 'untold';
  const { turbidityNtu, turbidityLimitNtu, conductivityUsCm, conductivityLimitUsCm } = figures;
  const isOver = isOverBy(turbidityNtu, turbidityLimitNtu, 0) || isOverBy(conductivityUsCm, conductivityLimitUsCm, 0);
  return isOver ? 'above-mains' : 'briefly';
}

/** Whether a figure is over its limit and the room that is given. */
export function isOverBy(value: number | undefined, limit: number | undefined, room: number): boolean {
  return value !== undefined && limit !== undefined && value > limit + room;
}
