import type { Loop } from './loop.ts';
import type { Passes } from './passes.ts';
import { echoAhead } from './remainder.ts';
import type { Forecast } from './verdict.ts';

/** The last pass's water is waited for, comes through, or has gone by. */
export type Phase = 'waiting' | 'coming' | 'settling';

export interface ForecastInput {
  readonly timeS: number;
  readonly phase: Phase;
  /** Litres that must still flow before the last pass's water has gone by. */
  readonly needL: number;
  /** What stands over the background now, and the limit. */
  readonly excessNtu: number;
  readonly limitNtu: number;
  /** Litres of a washout as learned, and as the fit of this tail has it, with its own excess. */
  readonly washoutL: number;
  readonly fitted: { readonly washoutL: number; readonly excessNtu: number } | null;
  /** Level to which it falls. */
  readonly settleNtu: number;
  readonly litresPerS: number;
  /** The largest echo still to come, and litres until then. */
  readonly echo: { readonly ntu: number; readonly inL: number };
}

/**
 * How far the true moment lies before the soonest and after the latest that is reckoned, in washouts: a tenth of the moments
 * each, on simulated runs of every kind (`npx tsx bench/forecast.ts`).
 */
const spread = {
  waiting: { before: 1.1, after: 0.6 },
  coming: { before: 0.8, after: 1.1 },
  settling: { before: 0.3, after: 2 },
} as const;

/**
 * When what stands will be under the limit: the last pass's water has to go by, and what stands falls as y(v) =
 * excess exp(-v / c). Soonest by the learned washout alone; latest by the fit's, and after the echo where one over the limit
 * is expected. The interval holds eight moments in ten. Null where nothing flows.
 */
export function forecastOf(input: ForecastInput): Forecast | null {
  const { timeS, phase, limitNtu, litresPerS, washoutL, echo } = input;
  if (!(litresPerS > 0.001) || !(washoutL > 0)) return null;
  const fallL = (ntu: number, volumeL: number): number => (ntu > limitNtu ? volumeL * Math.log(ntu / limitNtu) : 0);
  const ownL = fallL(input.excessNtu, washoutL);
  const fitL = input.fitted ? fallL(input.fitted.excessNtu, input.fitted.washoutL) : 0;
  const echoL = echo.ntu > limitNtu ? echo.inL + fallL(echo.ntu, washoutL) : 0;
  const soonL = Math.max(input.needL, ownL);
  const lateL = Math.max(soonL, fitL, echoL);
  // Half of the echoes that are feared come.
  const likelyL = Math.max(soonL, (ownL + echoL) / 2);
  const { before, after } = spread[phase];
  const at = (litres: number): number => timeS + Math.max(0, litres) / litresPerS;
  return {
    clearAtS: at(likelyL),
    fromS: at(soonL - before * washoutL),
    toS: at(lateL + after * washoutL),
    tauS: (input.fitted?.washoutL ?? washoutL) / litresPerS,
    settleNtu: input.settleNtu,
  };
}

/** Null before any pass or pulse, and while one is under way: nobody knows yet what it will bring. */
export function forecastFor(
  loop: Loop,
  passes: Passes,
  now: Pick<ForecastInput, 'timeS' | 'phase' | 'limitNtu'> & { readonly excessNtu: number | null },
): Forecast | null {
  const { excessNtu } = now;
  const { record } = passes;
  const isUntouched = record.passes.length === 0 && record.pulses.length === 0;
  if (passes.isUnderWay || isUntouched || excessNtu === null) return null;
  const { fit, washoutL, settledNtu: settleNtu, litresPerS } = loop;
  return forecastOf({
    ...now,
    excessNtu,
    needL: passes.neededL - passes.sinceL,
    washoutL,
    fitted: fit,
    settleNtu,
    litresPerS,
    echo: fit ? echoAhead(loop, fit) : { ntu: 0, inL: 0 },
  });
}
