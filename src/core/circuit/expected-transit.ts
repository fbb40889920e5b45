import { coverage, type Uncertain } from '../quantity/interval.ts';

/** Seconds that water takes, with the span that its uncertainty leaves. */
export interface TransitTime {
  readonly seconds: number;
  readonly fromS: number;
  readonly toS: number;
}

/**
 * Time for `litres` to go by at a flow, l/min: plug flow, t = V / Q. Null when the water stands, for then it never
 * arrives. For the first dirt give the litres of pipe; for the last, add what the emitter holds.
 */
export function transitTime(litres: Uncertain, flowLpm: number): TransitTime | null {
  if (!(flowLpm > 0)) return null;
  const seconds = (60 * litres.value) / flowLpm;
  const spread = (60 * coverage * litres.u) / flowLpm;
  return { seconds, fromS: Math.max(0, seconds - spread), toS: seconds + spread };
}
