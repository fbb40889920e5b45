import { type Cost, centred, prefix, requireFinite } from './cost.ts';

/**
 * Change of the means, of the spreads, or of how columns go together: the multivariate Gaussian likelihood with mean and
 * covariance free in each segment, m (ln det(S / m) + d) for a segment of m rows with scatter matrix S. Twice the negative
 * log likelihood up to a constant (Lavielle and Teyssiere 2006, from memory). Prefix sums of the products of columns: memory
 * of n (d + d (d + 1) / 2) numbers, d^3 / 6 operations a segment.
 */
export class MeanCovCost implements Cost {
  readonly n: number;
  readonly least: number;
  readonly parameters: number;
  private readonly d: number;
  private readonly floors: readonly number[];
  private readonly sums: readonly Float64Array[];
  /** Products of columns j and k <= j, in the order (0,0) (1,0) (1,1) (2,0) ... */
  private readonly products: readonly Float64Array[];
  private readonly matrix: Float64Array;

  /**
   * @param floors least variance believed of each column, in its unit squared: added to the diagonal, so that columns that
   *   copy one another or stand still make no direction without any spread. Default a millionth of each one's variance.
   */
  constructor(columns: readonly ArrayLike<number>[], floors?: readonly number[]) {
    const first = columns[0];
    if (!first) throw new RangeError('A covariance needs at least one column.');
    this.n = first.length;
    this.d = columns.length;
    const x = columns.map((c, j) => {
      requireFinite(c, `columns[${j}]`);
      if (c.length !== this.n)
        throw new RangeError(`Columns must have equal length; got ${this.n} and ${c.length} rows.`);
      return centred(c).values;
    });
    this.least = this.d + 1;
    this.parameters = this.d + (this.d * (this.d + 1)) / 2;
    this.sums = x.map((c) => prefix(this.n, (i) => c[i] ?? 0));
    this.products = x.flatMap((a, j) => x.slice(0, j + 1).map((b) => prefix(this.n, (i) => (a[i] ?? 0) * (b[i] ?? 0))));
    this.floors =
      floors ??
      x.map((_, j) => {
        const own = this.products[(j * (j + 3)) / 2];
        return Math.max((1e-6 * (own?.[this.n] ?? 0)) / Math.max(1, this.n), 1e-300);
      });
    this.matrix = new Float64Array(this.d * this.d);
  }

  between(from: number, to: number): number {
    const m = to - from;
    return m * (this.logDeterminant(from, to) + this.d);
  }

  fill(starts: Int32Array, count: number, to: number, out: Float64Array): void {
    for (let i = 0; i < count; i++) out[i] = this.between(starts[i] ?? 0, to);
  }

  /** ln det(S / m + floors), by Cholesky's factors in place. */
  private logDeterminant(from: number, to: number): number {
    const { d, matrix } = this;
    const m = to - from;
    let log = 0;
    let at = 0;
    for (let j = 0; j < d; j++) {
      const sj = this.sums[j] as Float64Array;
      const mj = (sj[to] as number) - (sj[from] as number);
      for (let k = 0; k <= j; k++) {
        const sk = this.sums[k] as Float64Array;
        const p = this.products[at++] as Float64Array;
        const mk = (sk[to] as number) - (sk[from] as number);
        let v = ((p[to] as number) - (p[from] as number) - (mj * mk) / m) / m;
        if (k === j) v = Math.max(0, v) + (this.floors[j] as number);
        for (let i = 0; i < k; i++) v -= (matrix[j * d + i] as number) * (matrix[k * d + i] as number);
        if (k < j) matrix[j * d + k] = v / (matrix[k * d + k] as number);
        else {
          // Rounding may take a direction of no spread under nought; its floor stands.
          const pivot = Math.max(v, 0.5 * (this.floors[j] as number));
          matrix[j * d + j] = Math.sqrt(pivot);
          log += Math.log(pivot);
        }
      }
    }
    return log;
  }
}
