/** A value with its standard uncertainty (one standard deviation), same unit. */
export interface Uncertain {
  readonly value: number;
  readonly u: number;
}

export interface Propagated {
  readonly values: readonly number[];
  readonly u: readonly number[];
  /** Correlation of the outputs. */
  readonly r: readonly (readonly number[])[];
}

/**
 * Law of propagation of uncertainty (JCGM 100:2008, 5.2.2), first order, correlated inputs and several outputs:
 * the covariance of the outputs is J C J^T. Derivatives are central differences over a hundredth of each input's
 * uncertainty, as JCGM 100, 5.1.3 note 2 allows. An input with no uncertainty adds nothing.
 *
 * @param f outputs as a function of the inputs
 * @param means best estimates of the inputs
 * @param covariance of the inputs, symmetric, in the products of their units
 */
export function propagate(
  f: (inputs: readonly number[]) => readonly number[],
  means: readonly number[],
  covariance: readonly (readonly number[])[],
): Propagated {
  const values = f(means);
  const jacobian = means.map((mean, i) => {
    const step = 0.01 * Math.sqrt(covariance[i]?.[i] ?? 0);
    if (step === 0) return values.map(() => 0);
    const up = f(means.map((m, k) => (k === i ? mean + step : m)));
    const down = f(means.map((m, k) => (k === i ? mean - step : m)));
    return values.map((_, o) => ((up[o] ?? Number.NaN) - (down[o] ?? Number.NaN)) / (2 * step));
  });
  const cov = (a: number, b: number): number => {
    let sum = 0;
    for (let i = 0; i < means.length; i++) {
      for (let k = 0; k < means.length; k++) {
        sum += (jacobian[i]?.[a] ?? 0) * (covariance[i]?.[k] ?? 0) * (jacobian[k]?.[b] ?? 0);
      }
    }
    return sum;
  };
  const u = values.map((_, o) => Math.sqrt(Math.max(0, cov(o, o))));
  const r = values.map((_, a) => values.map((__, b) => (a === b ? 1 : cov(a, b) / ((u[a] ?? 1) * (u[b] ?? 1)))));
  return { values, u, r };
}

/** Inputs that do not depend on one another: a diagonal covariance. */
export function independent(inputs: readonly Uncertain[]): number[][] {
  return inputs.map((input, i) => inputs.map((_, k) => (i === k ? input.u ** 2 : 0)));
}

/** Mean of repeated observations and the standard uncertainty of that mean (JCGM 100:2008, 4.2). Needs two or more. */
export function meanOf(observations: readonly number[]): Uncertain {
  const n = observations.length;
  if (n < 2) throw new RangeError(`A spread needs two observations or more; ${n} given.`);
  const value = observations.reduce((a, b) => a + b, 0) / n;
  const s2 = observations.reduce((a, b) => a + (b - value) ** 2, 0) / (n - 1);
  return { value, u: Math.sqrt(s2 / n) };
}

/** Covariance of the means of observations made together (JCGM 100:2008, 5.2.3). All of one length. */
export function covarianceOfMeans(series: readonly (readonly number[])[]): number[][] {
  const n = series[0]?.length ?? 0;
  const means = series.map((s) => s.reduce((a, b) => a + b, 0) / n);
  return series.map((a, i) =>
    series.map((b, k) => {
      let sum = 0;
      for (let j = 0; j < n; j++) sum += ((a[j] ?? 0) - (means[i] ?? 0)) * ((b[j] ?? 0) - (means[k] ?? 0));
      return sum / (n * (n - 1));
    }),
  );
}

/** Standard uncertainty of a value read in steps of `step`, when nothing else is known: rectangular, step / sqrt(12). */
export function uOfStep(step: number): number {
  return step / Math.sqrt(12);
}
