/**
 * Life of one alarm, after the idea of IEC 62682 (its text is priced and was not read; states from public extracts).
 * `returned`: the trouble went away before anyone had seen it.
 */
export type Life = 'normal' | 'unacked' | 'acked' | 'returned';
export type LifeInput = 'rise' | 'fall' | 'acknowledge';

export interface LifeStep {
  readonly to: Life;
  /** Only a rise is heard: a return to normal is silent, and so is a rise of what is known and stands. */
  readonly sounds: boolean;
}

const quiet = (to: Life): LifeStep => ({ to, sounds: false });

/** State by input. Every cell is filled: what has no effect says so. */
export const lifeTable: Readonly<Record<Life, Readonly<Record<LifeInput, LifeStep>>>> = {
  normal: { rise: { to: 'unacked', sounds: true }, fall: quiet('normal'), acknowledge: quiet('normal') },
  unacked: { rise: quiet('unacked'), fall: quiet('returned'), acknowledge: quiet('acked') },
  acked: { rise: quiet('acked'), fall: quiet('normal'), acknowledge: quiet('acked') },
  returned: { rise: { to: 'unacked', sounds: true }, fall: quiet('returned'), acknowledge: quiet('normal') },
};
