/** Weight that holds a part at nought. */
const held = 1e12;
const count = 4;

/**
 * Penalised least squares of four parts: normal equations `matrix` x = `right`, solved by Cholesky's root (Golub and Van Loan,
 * Matrix Computations, ch. 4; from memory). One instance is filled again and again: nothing is made anew in a fit.
 */
export class Parts {
  /** Row by row; the lower triangle is read. */
  readonly matrix = new Float64Array(count * count);
  readonly right = new Float64Array(count);
  /** Solution, and inverse of the matrix: what the parts are, and their covariance. */
  readonly value = new Float64Array(count);
  readonly covariance = new Float64Array(count * count);
  private readonly root = new Float64Array(count * count);
  private readonly inverseRoot = new Float64Array(count * count);

  /** @returns logarithm of the determinant */
  solve(): number {
    const { root, inverseRoot, covariance, value, right } = this;
    const logDet = this.factor();
    for (let j = 0; j < count; j += 1) {
      inverseRoot[j * count + j] = 1 / at(root, j, j);
      for (let i = j + 1; i < count; i += 1) {
        let sum = 0;
        for (let k = j; k < i; k += 1) sum -= at(root, i, k) * at(inverseRoot, k, j);
        inverseRoot[i * count + j] = sum / at(root, i, i);
      }
    }
    for (let i = 0; i < count; i += 1)
      for (let j = 0; j <= i; j += 1) {
        let sum = 0;
        for (let k = i; k < count; k += 1) sum += at(inverseRoot, k, i) * at(inverseRoot, k, j);
        covariance[i * count + j] = sum;
        covariance[j * count + i] = sum;
      }
    for (let i = 0; i < count; i += 1) {
      let sum = 0;
      for (let j = 0; j < count; j += 1) sum += at(covariance, i, j) * (right[j] ?? 0);
      value[i] = sum;
    }
    return logDet;
  }

  private factor(): number {
    const { matrix, root } = this;
    let logDet = 0;
    for (let i = 0; i < count; i += 1)
      for (let j = 0; j <= i; j += 1) {
        let sum = at(matrix, i, j);
        for (let k = 0; k < j; k += 1) sum -= at(root, i, k) * at(root, j, k);
        if (i === j) {
          // Rounding must not make nothing of what two parts alike leave apart.
          const pivot = Math.sqrt(Math.max(sum, 1e-12 * at(matrix, i, i)));
          root[i * count + i] = pivot;
          logDet += 2 * Math.log(pivot);
        } else root[i * count + j] = sum / at(root, j, j);
      }
    return logDet;
  }

  /** After `solve`: parts from `first` on that came out negative are held at nought, the worst offender first. */
  holdNegative(first: number): void {
    for (let round = first; round < count; round += 1) {
      let worst = -1;
      let most = 0;
      for (let i = first; i < count; i += 1) {
        const off = (this.value[i] ?? 0) / Math.sqrt(at(this.covariance, i, i));
        if (at(this.matrix, i, i) < held && off < most) {
          most = off;
          worst = i;
        }
      }
      // Holding one can make another negative that was not so before.
      if (worst < 0) return;
      this.matrix[worst * count + worst] = at(this.matrix, worst, worst) + held;
      this.solve();
    }
  }

  /** Variance of a sum of the parts with these weights. */
  variance(w0: number, w1: number, w2: number, w3: number): number {
    const c = this.covariance;
    const own = w0 * w0 * at(c, 0, 0) + w1 * w1 * at(c, 1, 1) + w2 * w2 * at(c, 2, 2) + w3 * w3 * at(c, 3, 3);
    const shared =
      w0 * (w1 * at(c, 1, 0) + w2 * at(c, 2, 0) + w3 * at(c, 3, 0)) +
      w1 * (w2 * at(c, 2, 1) + w3 * at(c, 3, 1)) +
      w2 * w3 * at(c, 3, 2);
    return Math.max(0, own + 2 * shared);
  }
}

function at(matrix: Float64Array, i: number, j: number): number {
  return matrix[i * count + j] ?? 0;
}
