/** Flow in a round pipe. Bores in mm, flow in l/min; everything else SI. */

/** Mean velocity, m/s. */
export function velocityMS(flowLpm: number, innerMm: number): number {
  return flowLpm / 60000 / ((Math.PI / 4) * (innerMm / 1000) ** 2);
}

export function reynolds(velocity: number, innerMm: number, densityKgM3: number, viscosityPaS: number): number {
  return (densityKgM3 * velocity * innerMm) / 1000 / viscosityPaS;
}

/** Darcy factor by Swamee and Jain 1976, explicit: f = 0.25 / log10(e/3.7 + 5.74/Re^0.9)^2; for Re over about 5000. */
export function frictionSwameeJain(re: number, relativeRoughness: number): number {
  return 0.25 / Math.log10(relativeRoughness / 3.7 + 5.74 / re ** 0.9) ** 2;
}

/** Darcy factor, the root of Colebrook's equation by Newton on x = 1/sqrt(f); turbulent flow. */
export function frictionColebrook(re: number, relativeRoughness: number): number {
  const a = relativeRoughness / 3.7;
  const b = 2.51 / re;
  let x = 1 / Math.sqrt(frictionSwameeJain(re, relativeRoughness));
  for (let i = 0; i < 20; i++) {
    const inner = a + b * x;
    const step = (x + 2 * Math.log10(inner)) / (1 + (2 * b) / (Math.LN10 * inner));
    x -= step;
    if (Math.abs(step) < 1e-14 * x) break;
  }
  return 1 / (x * x);
}

/** Below this the flow is laminar; up to `turbulentRe` it may be either. Textbook values, from memory. */
export const laminarRe = 2300;
export const turbulentRe = 4000;

export interface Friction {
  readonly factor: number;
  /** `uncertain`: between laminar and turbulent; the turbulent factor is given, the larger of the two. */
  readonly regime: 'laminar' | 'uncertain' | 'turbulent';
}

export function friction(re: number, relativeRoughness: number): Friction {
  if (re < laminarRe) return { factor: 64 / re, regime: 'laminar' };
  return { factor: frictionColebrook(re, relativeRoughness), regime: re < turbulentRe ? 'uncertain' : 'turbulent' };
}

/** Pressure loss along a straight pipe, Pa per metre (Darcy and Weisbach). */
export function lossPaPerM(factor: number, velocity: number, innerMm: number, densityKgM3: number): number {
  return (factor * densityKgM3 * velocity * velocity * 1000) / (2 * innerMm);
}
