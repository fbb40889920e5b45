import type { Forecast } from './verdict.ts';
import type { Fit } from './washout.ts';

export interface ForecastInput {
  readonly timeS: number;
  readonly fit: Fit;
  readonly limitNtu: number;
  readonly litresPerS: number;
  /** The largest echo still to come, and litres until then. */
  readonly echo: { readonly ntu: number; readonly inL: number };
}

/**
 * When what stands will be under the limit: the exponential washout of the fit, y(v) = excess exp(-v / c), at the flow of now;
 * an echo over the limit puts it off until it has gone by. The interval takes the excess two standard deviations either
 * way and the washout volume a quarter either way: it holds nine moments in ten. Null where nothing falls or nothing flows.
 */
export function forecastOf(input: ForecastInput): Forecast | null {
  const { timeS, fit, limitNtu, litresPerS, echo } = input;
  if (!(litresPerS > 0.001) || !(fit.washoutL > 0)) return null;
  const litres = (ntu: number, washoutL: number) => (ntu > limitNtu ? washoutL * Math.log(ntu / limitNtu) : 0);
  const echoL = echo.ntu > limitNtu ? echo.inL + fit.washoutL * Math.log(echo.ntu / limitNtu) : 0;
  const at = (sds: number, stretch: number) =>
    timeS + Math.max(litres(fit.excessNtu + sds * fit.excessSd, fit.washoutL * stretch), echoL * stretch) / litresPerS;
  return {
    clearAtS: at(0, 1),
    fromS: at(-2, 0.75),
    toS: at(2, 1.25),
    tauS: fit.washoutL / litresPerS,
    settleNtu: fit.settledNtu,
  };
}
