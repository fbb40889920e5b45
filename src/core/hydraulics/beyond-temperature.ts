import type { PressureTrend } from './pressure-trend.ts';
import type { HydraulicSettings } from './settings.ts';

/**
 * Rate at which the pressure falls (`way` -1) or climbs (1) beyond what cooling or heating explains, bar/min, and what of the
 * change temperature may account for, bar; null where it is too small, too slow or too unsure to be told. Temperature moves at
 * most `barPerKelvin` (water's expansion into a vessel: about 0.01 bar/K, stiff circuits more; common practice, no source), so
 * the rate is the least one that the readings allow.
 */
export function beyondTemperature(
  trend: PressureTrend,
  way: -1 | 1,
  settings: HydraulicSettings,
): { readonly barPerMin: number; readonly byTemperatureBar: number } | null {
  const byTemperatureBar = Math.max(0, way * (trend.changeK ?? 0)) * settings.barPerKelvin;
  const move = way * trend.changeBar - byTemperatureBar;
  const barPerMin = move / (trend.quietS / 60);
  const least = trend.isSlow ? settings.slowBarPerMin : settings.trendBarPerMin;
  if (move < settings.trendBar || barPerMin < least) return null;
  return barPerMin < settings.trendSigma * trend.uBarPerMin ? null : { barPerMin, byTemperatureBar };
}
