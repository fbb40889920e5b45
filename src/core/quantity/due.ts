/**
 * The first whole second that is still to be looked at before `timeS`, where `nextS` would be next. What goes by second by
 * second goes by for a day of silence at the most: a time beyond belief (a clock that leapt, a slipped digit) must not
 * cost a minute, and after a day nothing more is learned from nothing.
 */
export function dueFrom(nextS: number, timeS: number): number {
  return timeS - nextS > longestS ? Math.floor(timeS) - longestS : nextS;
}

const longestS = 86_400;
