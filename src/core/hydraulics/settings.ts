/** Settings of the hydraulic watch. All sizes are common practice of measurement, no source, unless said. */
export const hydraulicSettings = {
  /** A flow step counts from this share of the level before. */
  stepShare: 0.15,
  /** ... and a rise while one emitter is worked on from this: nothing else lets more water through there. */
  riseShare: 0.1,
  /** A tap explains a flow step from this long before it to this long after, s: taps are late, pipes are slow. */
  tapBeforeS: 40,
  tapAfterS: 25,
  /** Under this flow, or this share of the level before, the water as good as stands. */
  stoppedLpm: 0.5,
  stoppedShare: 0.1,
  /** ... for this long, s. */
  stoppedS: 3,
  /** More than this over what the emitter alone gave is more than one open. */
  twoOpenShare: 0.25,
  /** Shortest and longest stretch over which a pressure trend is judged, s. */
  trendLeastS: 60,
  trendMostS: 300,
  /** Least pressure trend that is told, bar/min, and least change in all, bar. */
  trendBarPerMin: 0.015,
  trendBar: 0.08,
  /** Quiet seconds over several visits in which a slower trend is told, how far back they may lie, and how slow it may be. */
  slowLeastS: 600,
  slowMostS: 2700,
  slowBarPerMin: 0.004,
  /** Trend over its standard uncertainty at which it is told; high, because the test is made every second. */
  trendSigma: 6,
  /** What of the pressure at its sensor goes with the square of the flow, bar, more or less: standard deviation. Six of them are more than a
   * pump gives. */
  flowBar: 0.2,
  /** Most that a warming sealed circuit's pressure moves, bar/K: no warming or cooling within this is told as a fault. */
  barPerKelvin: 0.04,
  /** Flow lost, as a share, and background gained, as a share and in NTU, that together say the chamber is full. */
  chamberFlowShare: 0.12,
  chamberTurbidityShare: 0.3,
  chamberTurbidityNtu: 5,
  /** Least climb of what stands between pulses from one three minutes to the next, NTU, and most climb over the least. */
  windowClimbNtu: 6,
  windowClimbRatio: 2,
  /** Litres per bar of the sealed circuit, if measured at filling; null: a leak is told in bar/min only. */
  litresPerBar: null as number | null,
} as const;

export type HydraulicSettings = {
  readonly [K in keyof typeof hydraulicSettings]: (typeof hydraulicSettings)[K] extends number ? number : number | null;
};
