import { z } from 'zod';

/**
 * The thresholds of the definition of clear, and those that one may tune: name (unit in the name), default, and why that
 * default. `limpid analyse --settings` runs a recording again with others.
 */
export const lineSettingsSchema = z.strictObject({
  /** Clear means: excess under this many NTU ... Definition of "clear" (docs/method.md). */
  clearNtu: z.number().positive().default(5),
  /** ... or under this share of the visit's peak, whichever is more. Definition of "clear". */
  clearShare: z.number().positive().max(0.5).default(0.05),
  /** Share of what the visit set free that may still be to come. Definition of "clear". */
  restShare: z.number().positive().max(0.5).default(0.05),
  /** False clears that one may expect in a run; the confidence asked of each clear follows from it. */
  falseClearsPerRun: z.number().positive().max(1).default(0.05),
  /**
   * Share of the clears that are right where the fit leaves no doubt: a fit knows nothing of what it has no term for. Measured,
   * echo counted (docs/benchmark.md); it bounds the confidence that is told, and decides nothing.
   */
  modelHolds: z.number().positive().max(1).default(0.965),
  /** Clears in a usual run (10 emitters, 3 passes each): shares the budget out. Common practice, no source. */
  clearsPerRun: z.number().positive().default(30),
  /** What stands must be under the limit with this to spare: a limit set by the peak was read with noise and bubbles. */
  limitMargin: z.number().positive().max(1).default(0.95),
  /**
   * Where the last seconds scatter too much to be under the limit for sure, the fit of the whole stretch may say so: when its
   * residuals are at most this many times their expected scatter, and the last seconds under this part of what is asked.
   * Chosen on simulated runs, no source.
   */
  fittedMisfit: z.number().positive().default(1.2),
  fittedMargin: z.number().positive().max(1).default(0.9),
  /**
   * What has risen by the limit within so many seconds is not settled, whatever its level: it is a front that nobody told of, or
   * a reading that comes back through its fold. Chosen on simulated runs, no source.
   */
  risingS: z.number().int().positive().default(30),
  /** What is still to come is itself an estimate: it must be under this part of the share that clear allows. */
  restMargin: z.number().positive().max(1).default(0.65),
  /**
   * Both margins are narrower by this share at the first pass of a visit, by half of it at the second, a third at the third:
   * what an emitter still gives slowly is known the better, the more often it was seen to wash out. Chosen on simulated runs, no source.
   */
  earlyDoubt: z.number().min(0).max(0.5).default(0.15),
  /** Litres asked for beyond the estimated path, in standard deviations of it (2.15: one path in sixty-three is longer). */
  pathSds: z.number().min(0).max(5).default(2.15),
  /** Share of its water that an emitter holds while it is worked on. Common practice, no source. */
  emitterFill: z.number().positive().max(1).default(0.5),
  /**
   * Seconds that a visit without any pass waits at least before it may be called clear, beside the litres after which a pass
   * begun untold would have shown its front: the longest usual pass, and a late tap. Common practice 20-60 s, no source.
   */
  noPassWaitS: z.number().min(0).default(75),
  /** A pass without a marked beginning is taken to have begun this long before its end. Recording contract. */
  passLengthS: z.number().min(0).default(30),
  /** A pass that nobody told of is taken to last this long from the front it sends. Common practice 20-60 s, no source. */
  untoldPassS: z.number().min(0).default(45),
  /** How late a tap may be, s: a flow that stops so shortly before an emitter is shut was the shutting, a kit silent before the rinse ends its end. */
  lateTapS: z.number().min(0).default(15),
  /** Flow below which the water brings no news, l/min: a tenth of the least usual one-emitter flow, rounded up. */
  minFlowLpm: z.number().positive().default(0.7),
  /**
   * Without a flow sensor: litres are reckoned at a slow usual one-emitter flow, so that waiting errs to the long side, until
   * the fronts of passes have shown how fast the water goes.
   */
  reckonedLpm: z.number().positive().default(4),
  /** Silence of a channel that ends a verdict, s (must be said within 5 s). */
  silenceS: z.number().positive().default(4),
  /** Good readings asked for after a blind or still spell before anything is called clear, s. */
  seeingS: z.number().min(0).default(10),
  /** Identical readings in a row that mean a stuck sensor, where the quantisation step cannot explain them. */
  stuckReadings: z.number().int().min(5).default(30),
  /** Noise of a one-second reading that no calibration can beat, NTU. */
  noiseFloorNtu: z.number().positive().default(0.15),
  /** Scatter in proportion to the reading, for the same sensor (both grow together: one factor is learned). */
  noiseShare: z.number().min(0).max(0.2).default(0.003),
  /** Evidence (log-likelihood ratio) for a new front at a time when a pass's water is due. */
  onsetEvidenceDue: z.number().positive().default(10),
  /** Evidence for a new front that no pass explains. */
  onsetEvidenceFree: z.number().positive().default(18),
  /** Share of what arrives at the rig that comes round again, before this rig has shown its own: mean and spread. */
  echoShare: z.number().min(0).max(1).default(0.2),
  echoShareSd: z.number().positive().max(1).default(0.15),
  /** Standard deviations of that share on top, when the echo still to come is reckoned. */
  echoSds: z.number().min(0).max(3).default(0),
  /** An echo counts as evened out as far as it stands still for this share of the loop ahead. Chosen on simulated runs, no source. */
  evenAhead: z.number().min(0).max(1).default(0.8),
  /**
   * The same where a sensor after the chambers shows what they let through again: that water's way round is known, so it is looked
   * at for longer than one loop. Chosen on simulated runs, no source.
   */
  evenAheadOut: z.number().min(0).max(3).default(1.2),
  /** Background drift allowed for, NTU per square root of a second (0.4 in a minute, 1.2 in ten) ... */
  backgroundDriftNtu: z.number().min(0).default(0.05),
  /** ... and as a share of it, per square root of a second (1.5 % in a minute, 5 % in ten); both in quadrature. */
  backgroundDriftShare: z.number().min(0).max(0.1).default(0.002),
  /**
   * The fall that was seen before the first visit dies away over so many seconds: what falls by cleaning falls slower and
   * slower, and carried on too far it would lie under what really stands. Chosen on simulated runs, no source.
   */
  backgroundTrendS: z.number().positive().default(90),
  /** Share by which the fall that is carried on may be wrong. */
  backgroundTrendDoubt: z.number().min(0).max(2).default(0.35),
  /** Usual slope of a background that is being cleaned, share of the level a second: a slope read off few seconds is shrunk by it. */
  backgroundFallShare: z.number().positive().max(0.01).default(0.0006),
  /**
   * The background lies under a level at which the line has stood for so long, once the water of emitter and way was changed so
   * many times since the opening: settled water makes a dip. Chosen on simulated runs, no source.
   */
  lowS: z.number().int().min(8).default(20),
  lowChanges: z.number().min(1).default(2),
  /** What has stood still for this long (and several volumes) and fallen by less than this share is no release. */
  rebaseS: z.number().positive().default(100),
  rebaseShare: z.number().positive().default(0.1),
  /**
   * A reading that climbs in a straight line for so long is no release: a film grows on the window. Longest usual pass and the
   * spread of its way to the sensor stay under it. Common practice, no source.
   */
  filmS: z.number().min(40).default(100),
  /** Rinse: turbidity over the mains' that still counts as mains level, NTU, or this share of it; and the share of the mains' conductivity. */
  rinseNtu: z.number().positive().default(2),
  rinseShare: z.number().positive().default(0.1),
});
export type LineSettings = z.infer<typeof lineSettingsSchema>;
export const defaultLineSettings: LineSettings = lineSettingsSchema.parse({});

/** What a run is judged by, as the head of its record keeps it: each setting by its name. */
export type KeptSettings = Readonly<Record<string, number>>;

/**
 * The kept settings as this version understands them, and the names of those that it does not: a setting that it no
 * longer has, or a value that it would refuse. Its own default stands in for each of these.
 */
export function understood(kept: KeptSettings | undefined): { settings: Partial<LineSettings>; strange: string[] } {
  const strange = Object.entries(kept ?? {}).flatMap(([name, value]) =>
    lineSettingsSchema.safeParse({ [name]: value }).success ? [] : [name],
  );
  const rest = Object.entries(kept ?? {}).filter(([name]) => !strange.includes(name));
  return { settings: Object.fromEntries(rest), strange };
}
