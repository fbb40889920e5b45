/** How many alarms a run had: what decides whether people still look at them. */
export interface AlarmMeasure {
  readonly total: number;
  readonly perHour: number;
  /** Most rises in any ten minutes. */
  readonly worstTenMinutes: number;
}

const tenMinutesS = 600;

/** @param risesS times of the rises, in order; the span is the run's, in seconds */
export function measureAlarms(risesS: readonly number[], fromS: number, toS: number): AlarmMeasure {
  let worst = 0;
  let first = 0;
  for (let i = 0; i < risesS.length; i++) {
    while ((risesS[i] ?? 0) - (risesS[first] ?? 0) >= tenMinutesS) first++;
    worst = Math.max(worst, i - first + 1);
  }
  const hours = (toS - fromS) / 3600;
  return { total: risesS.length, perHour: hours > 0 ? risesS.length / hours : 0, worstTenMinutes: worst };
}
