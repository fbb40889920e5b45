/**
 * Pressure and temperature bands of a run. Cold fill 1.0 to 1.5 bar and a relief valve at 3 bar are common practice for
 * domestic sealed systems (from memory); the alarm at 2.5 bar leaves it room, our choice. In an open-vented system
 * pressure is the height of the feed tank: fill band, hold and relief valve do not apply.
 */
export interface Bands {
  readonly fillBar: readonly [number, number] | null;
  readonly alarmBar: number | null;
  readonly reliefBar: number | null;
  /** Water of the emitters' circulation, degrees: common practice, no source. */
  readonly circulateC: readonly [number, number];
  /** Least flow at which a clock of circulation runs, l/min: common practice, no source. */
  readonly circulateLpm: number;
  /** Over this at a hose in the hand: warn. 44 degrees is the scald limit of HSE Health Services Information Sheet 6. */
  readonly handWarnC: number;
  /** Over this: strongly; a published burn table gives second degree burns in 3 s at 60 degrees. */
  readonly handAlarmC: number;
}

export type SystemKind = 'sealed' | 'open-vented';

export function bandsOf(system: SystemKind): Bands {
  const sealed = system === 'sealed';
  return {
    fillBar: sealed ? [0.8, 1.5] : null,
    alarmBar: sealed ? 2.5 : null,
    reliefBar: sealed ? 3 : null,
    circulateC: [50, 75],
    circulateLpm: 4,
    handWarnC: 44,
    handAlarmC: 60,
  };
}

export type FillState = 'not-applicable' | 'not-measured' | 'low' | 'inside' | 'high' | 'near-relief';

/** Where the pressure stands, bar; the gate of filling is open on `inside` and `not-applicable`. */
export function fillState(pressureBar: number | null, bands: Bands): FillState {
  if (bands.fillBar === null) return 'not-applicable';
  if (pressureBar === null || Number.isNaN(pressureBar)) return 'not-measured';
  if (bands.alarmBar !== null && pressureBar >= bands.alarmBar) return 'near-relief';
  if (pressureBar < bands.fillBar[0]) return 'low';
  return pressureBar > bands.fillBar[1] ? 'high' : 'inside';
}

/** Is water at a hose in the hand a danger? `warn` over the scald limit, `strong` where it burns within seconds. */
export function scaldOf(celsius: number | null, bands: Bands): 'not-measured' | 'no' | 'warn' | 'strong' {
  if (celsius === null || Number.isNaN(celsius)) return 'not-measured';
  if (celsius >= bands.handAlarmC) return 'strong';
  return celsius > bands.handWarnC ? 'warn' : 'no';
}
