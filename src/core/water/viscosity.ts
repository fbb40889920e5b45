import { densityKgM3 } from './density.ts';

/** Coefficients of IAPWS R12-08, tables 1 and 2, without the critical enhancement; transcribed, table 4 checked in tests. */
const h0 = [1.67752, 2.20462, 0.6366564, -0.241605];
/** [power of (1/T - 1), power of (density - 1), coefficient] */
const h1: readonly (readonly [number, number, number])[] = [
  [0, 0, 5.20094e-1],
  [1, 0, 8.50895e-2],
  [2, 0, -1.08374],
  [3, 0, -2.89555e-1],
  [0, 1, 2.22531e-1],
  [1, 1, 9.99115e-1],
  [2, 1, 1.88797],
  [3, 1, 1.26613],
  [5, 1, 1.20573e-1],
  [0, 2, -2.81378e-1],
  [1, 2, -9.06851e-1],
  [2, 2, -7.72479e-1],
  [3, 2, -4.89837e-1],
  [4, 2, -2.5704e-1],
  [0, 3, 1.61913e-1],
  [1, 3, 2.57399e-1],
  [0, 4, -3.25372e-2],
  [3, 4, 6.98452e-2],
  [4, 5, 8.72102e-3],
  [3, 6, -4.35673e-3],
  [5, 6, -5.93264e-4],
];

/**
 * Viscosity of water, Pa s, at a temperature (K) and a density (kg/m3): IAPWS R12-08. About 1 % uncertain in liquid
 * water by the release (from memory). The release's check values are at a stated density, so density goes in, not
 * pressure.
 */
export function viscosityAtDensity(kelvin: number, kgM3: number): number {
  const t = kelvin / 647.096;
  const d = kgM3 / 322;
  let below = 0;
  for (let i = 0; i < h0.length; i++) below += (h0[i] ?? 0) / t ** i;
  let inside = 0;
  for (const [i, j, h] of h1) inside += h * (1 / t - 1) ** i * (d - 1) ** j;
  return ((100 * Math.sqrt(t)) / below) * Math.exp(d * inside) * 1e-6;
}

/**
 * Viscosity of liquid water near atmospheric pressure, Pa s, 0 to 100 degrees Celsius.
 * @throws RangeError outside that range.
 */
export function viscosityPaS(celsius: number): number {
  return viscosityAtDensity(celsius + 273.15, densityKgM3(celsius));
}
