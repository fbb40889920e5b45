import type { PressureTrend } from './pressure-trend.ts';
import { type Remark, remark } from './remark.ts';
import type { HydraulicSettings } from './settings.ts';

/**
 * Pressure that falls faster than cooling explains. What cooling takes away is at most `barPerKelvin` times the fall of
 * temperature (water's expansion into a vessel: about 0.01 bar/K, stiff circuits more; common practice, no source), so
 * the leak told is the least one that the readings allow.
 */
export function leakOf(trend: PressureTrend, settings: HydraulicSettings): Remark | null {
  const minutes = trend.quietS / 60;
  const cooling = Math.max(0, -(trend.changeK ?? 0)) * settings.barPerKelvin;
  const fall = -trend.changeBar - cooling;
  const rate = fall / minutes;
  if (fall < settings.trendBar || rate < (trend.isSlow ? settings.slowBarPerMin : settings.trendBarPerMin)) return null;
  if (rate < settings.trendSigma * trend.uBarPerMin) return null;
  const figures: Record<string, number> = {
    barPerMin: rate,
    uBarPerMin: trend.uBarPerMin,
    fallBar: -trend.changeBar,
    coolingBar: cooling,
    overS: trend.quietS,
  };
  if (settings.litresPerBar !== null) figures['mlPerMin'] = 1000 * settings.litresPerBar * rate;
  return remark('leak', trend.fromS, trend.toS, figures);
}
