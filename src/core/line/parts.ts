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

  /** Written out, four by four: each second of a run asks for fifteen of these and more. @returns logarithm of the determinant */
  solve(): number {
    const { matrix: h, right, value, covariance: c } = this;
    // Root L of the matrix, L L' = H.
    const l00 = pivot(at(h, 0, 0), at(h, 0, 0));
    const l10 = at(h, 1, 0) / l00;
    const l20 = at(h, 2, 0) / l00;
    const l30 = at(h, 3, 0) / l00;
    const l11 = pivot(at(h, 1, 1) - l10 * l10, at(h, 1, 1));
    const l21 = (at(h, 2, 1) - l20 * l10) / l11;
    const l31 = (at(h, 3, 1) - l30 * l10) / l11;
    const l22 = pivot(at(h, 2, 2) - l20 * l20 - l21 * l21, at(h, 2, 2));
    const l32 = (at(h, 3, 2) - l30 * l20 - l31 * l21) / l22;
    const l33 = pivot(at(h, 3, 3) - l30 * l30 - l31 * l31 - l32 * l32, at(h, 3, 3));
    // Its inverse K; then K' K is the inverse of the matrix.
    const k00 = 1 / l00;
    const k11 = 1 / l11;
    const k22 = 1 / l22;
    const k33 = 1 / l33;
    const k10 = -l10 * k00 * k11;
    const k20 = -(l20 * k00 + l21 * k10) * k22;
    const k21 = -l21 * k11 * k22;
    const k30 = -(l30 * k00 + l31 * k10 + l32 * k20) * k33;
    const k31 = -(l31 * k11 + l32 * k21) * k33;
    const k32 = -l32 * k22 * k33;
    c[0] = k00 * k00 + k10 * k10 + k20 * k20 + k30 * k30;
    c[1] = c[4] = k10 * k11 + k20 * k21 + k30 * k31;
    c[5] = k11 * k11 + k21 * k21 + k31 * k31;
    c[2] = c[8] = k20 * k22 + k30 * k32;
    c[6] = c[9] = k21 * k22 + k31 * k32;
    c[10] = k22 * k22 + k32 * k32;
    c[3] = c[12] = k30 * k33;
    c[7] = c[13] = k31 * k33;
    c[11] = c[14] = k32 * k33;
    c[15] = k33 * k33;
    for (let i = 0; i < count; i += 1)
      value[i] =
        at(c, i, 0) * (right[0] ?? 0) +
        at(c, i, 1) * (right[1] ?? 0) +
        at(c, i, 2) * (right[2] ?? 0) +
        at(c, i, 3) * (right[3] ?? 0);
    return 2 * Math.log(l00 * l11 * l22 * l33);
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

  varianceOf(part: number): number {
    return at(this.covariance, part, part);
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

/** Root of what is left of a diagonal entry; rounding must not make nothing of what two parts alike leave apart. */
function pivot(left: number, entry: number): number {
  return Math.sqrt(Math.max(left, 1e-12 * entry));
}

function at(matrix: Float64Array, i: number, j: number): number {
  return matrix[i * count + j] ?? 0;
}
