import type { PressureTrend } from './pressure-trend.ts';
import { type Remark, remark } from './remark.ts';
import type { HydraulicSettings } from './settings.ts';

/** Pressure that climbs more than heating explains, outside of filling: the filling loop was left open. */
export function fillingLoopOf(trend: PressureTrend, settings: HydraulicSettings): Remark | null {
  const minutes = trend.quietS / 60;
  const heating = Math.max(0, trend.changeK ?? 0) * settings.barPerKelvin;
  const climb = trend.changeBar - heating;
  const rate = climb / minutes;
  if (climb < settings.trendBar || rate < (trend.isSlow ? settings.slowBarPerMin : settings.trendBarPerMin))
    return null;
  if (rate < settings.trendSigma * trend.uBarPerMin) return null;
  return remark('filling-loop-open', trend.fromS, trend.toS, {
    barPerMin: rate,
    uBarPerMin: trend.uBarPerMin,
    climbBar: trend.changeBar,
    heatingBar: heating,
    overS: trend.quietS,
  });
}
