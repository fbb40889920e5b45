import { beyondTemperature } from './beyond-temperature.ts';
import type { PressureTrend } from './pressure-trend.ts';
import { type Remark, remark } from './remark.ts';
import type { HydraulicSettings } from './settings.ts';

/** Pressure that falls faster than cooling explains. */
export function leakOf(trend: PressureTrend, settings: HydraulicSettings): Remark | null {
  const fall = beyondTemperature(trend, -1, settings);
  if (!fall) return null;
  const figures: Record<string, number> = {
    barPerMin: fall.barPerMin,
    uBarPerMin: trend.uBarPerMin,
    fallBar: -trend.changeBar,
    coolingBar: fall.byTemperatureBar,
    overS: trend.quietS,
  };
  if (settings.litresPerBar !== null) figures['mlPerMin'] = 1000 * settings.litresPerBar * fall.barPerMin;
  return remark('leak', trend.fromS, trend.toS, figures);
}
