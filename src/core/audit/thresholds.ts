import type { Threshold } from './rule.ts';

/** For a rule that finds what came several times. */
export const timesLetBy: Threshold = {
  default: 0,
  unit: 'times',
  about: 'so many are let by',
  least: 0,
  most: 1000,
  looser: 'higher',
};

/** An emitter opened by mistake is no work on it. */
export const falseStart: Threshold = {
  default: 60,
  unit: 's',
  about: 'open for less in all, with no pass, is a false start',
  least: 0,
  most: 3600,
  looser: 'higher',
};

/** How long a reading may be out of its band at a stretch. */
export const stretchLetBy: Threshold = {
  default: 10,
  unit: 's',
  about: 'at least so long at a stretch',
  least: 1,
  most: 3600,
  looser: 'higher',
};

/** How long something may last in all. */
export const lastingLetBy: Threshold = {
  default: 30,
  unit: 's',
  about: 'in all; less is let by',
  least: 0,
  most: 3600,
  looser: 'higher',
};
