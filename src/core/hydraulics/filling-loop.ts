import { beyondTemperature } from './beyond-temperature.ts';
import type { PressureTrend } from './pressure-trend.ts';
import { type Remark, remark } from './remark.ts';
import type { HydraulicSettings } from './settings.ts';

/** Pressure that climbs more than heating explains, outside of filling: the filling loop was left open. */
export function fillingLoopOf(trend: PressureTrend, settings: HydraulicSettings): Remark | null {
  const climb = beyondTemperature(trend, 1, settings);
  if (!climb) return null;
  return remark('filling-loop-open', trend.fromS, trend.toS, {
    barPerMin: climb.barPerMin,
    uBarPerMin: trend.uBarPerMin,
    climbBar: trend.changeBar,
    heatingBar: climb.byTemperatureBar,
    overS: trend.quietS,
  });
}
