import { z } from 'zod';

/**
 * From a raw reading (V or count) to a value in the channel's unit. `line`: value = a + b raw, with the covariance of
 * (a, b). `steps`: straight pieces between knots, rising or falling throughout, with one uncertainty at each knot.
 */
export const curveSchema = z.discriminatedUnion('kind', [
  z.object({
    kind: z.literal('line'),
    a: z.number(),
    b: z.number(),
    /** u(a)^2, cov(a,b), u(b)^2. */
    covariance: z.tuple([z.number(), z.number(), z.number()]),
    fromRaw: z.number(),
    toRaw: z.number(),
  }),
  z.object({
    kind: z.literal('steps'),
    knots: z.array(z.object({ raw: z.number(), value: z.number(), u: z.number().min(0) })).min(2),
    fromRaw: z.number(),
    toRaw: z.number(),
  }),
]);
export type Curve = z.infer<typeof curveSchema>;

export interface Calibrated {
  readonly value: number;
  /** Standard uncertainty from the calibration alone, in the channel's unit. */
  readonly u: number;
  /** Outside the raw readings that the standards covered: the value is an extrapolation. */
  readonly outside: boolean;
}

export function applyCurve(curve: Curve, raw: number): Calibrated {
  const outside = raw < curve.fromRaw || raw > curve.toRaw;
  if (curve.kind === 'line') {
    const [aa, ab, bb] = curve.covariance;
    return {
      value: curve.a + curve.b * raw,
      u: Math.sqrt(Math.max(0, aa + 2 * raw * ab + raw * raw * bb)),
      outside,
    };
  }
  const { left, right } = piece(curve.knots, raw);
  const share = (raw - left.raw) / (right.raw - left.raw);
  return {
    value: left.value + share * (right.value - left.value),
    u: Math.hypot((1 - share) * left.u, share * right.u),
    outside,
  };
}

/** The raw reading that gives `value`; null where the curve never does. */
export function invertCurve(curve: Curve, value: number): number | null {
  if (curve.kind === 'line') return curve.b === 0 ? null : (value - curve.a) / curve.b;
  const { knots } = curve;
  for (let i = 1; i < knots.length; i++) {
    const left = knots[i - 1];
    const right = knots[i];
    if (!left || !right || left.value === right.value) continue;
    const share = (value - left.value) / (right.value - left.value);
    if (share >= 0 && share <= 1) return left.raw + share * (right.raw - left.raw);
  }
  return null;
}

type Knot = { readonly raw: number; readonly value: number; readonly u: number };

/** The piece that holds `raw`; the first or last one beyond the ends. */
function piece(knots: readonly Knot[], raw: number): { left: Knot; right: Knot } {
  let i = 1;
  while (i < knots.length - 1 && raw > (knots[i]?.raw ?? 0)) i++;
  const left = knots[i - 1];
  const right = knots[i];
  if (!left || !right) throw new RangeError('A curve in steps needs two knots.');
  return { left, right };
}
