/** What a table may be made of: see `contest`. */
export type Shape = 'mean' | 'line' | 'mean-var' | 'mean-tie' | 'mean-cov' | 'curve';

/** Price of a change over BIC's own: people mark fewer changes than BIC does, and a false one costs trust. */
const strictness = 1.15;

/**
 * Price of one change in `columns` columns of `rows` rows, on the scale of twice the log likelihood: one ln n for where,
 * one for that it was looked for everywhere (as the modified BIC has it), one for each parameter.
 */
export function changePrice(shape: Shape, rows: number, columns: number): number {
  return strictness * (2 + columns * parametersOf(shape)) * Math.log(rows);
}

/** Of one column in one segment. */
export function parametersOf(shape: Shape): number {
  return shape === 'mean' || shape === 'mean-tie' ? 1 : 2;
}

/** Of one change of the covariance, too. */
export function tiePrice(n: number, d: number): number {
  return strictness * (2 + d + (d * (d + 1)) / 2) * Math.log(n);
}
