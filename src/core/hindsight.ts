import type { Pulse, Visit } from './line/verdict.ts';

/** One second of a run as the causal pass saw it; what hindsight works on. */
export interface TraceSecond {
  readonly endS: number;
  /** NaN where turbidity was of no use. */
  readonly ntu: number;
  readonly litres: number;
  readonly backgroundNtu: number;
  /** Scatter of a second, and the limit of detection, NTU. */
  readonly sd: number;
  readonly detectionNtu: number;
}

export interface HindsightSettings {
  readonly clearNtu: number;
  readonly clearShare: number;
  readonly restShare: number;
}

export interface VisitInHindsight {
  readonly pulses: readonly Pulse[];
  readonly clears: readonly { readonly fromS: number; readonly toS: number | null }[];
}

/**
 * Look at a finished visit again with all that came later: date the onsets to where each rise left the level before it
 * by a twentieth of its height, drop pulses that never rose above the limit of detection, and find for each pass the earliest moment from
 * which what stands stayed under the limit until the next pass or the shutting, with 95 % of what passed gone by and the
 * path's litres flowed. The background is taken from before and after the visit, not from within a tail.
 * @param trace seconds of the whole run, in order
 * @param pathL litres of the visit's path as learned by the end of the run
 */
export function inHindsight(
  visit: Visit,
  passStartsS: readonly number[],
  trace: readonly TraceSecond[],
  pathL: number,
  settings: HindsightSettings,
): VisitInHindsight {
  const toS = visit.toS ?? trace.at(-1)?.endS ?? visit.fromS;
  const rows = trace.filter((s) => s.endS > visit.fromS && s.endS <= toS);
  const over = excessOf(rows, trace, toS);
  const pulses = visit.pulses.flatMap((p) => redated(p, rows));
  const inPulses = rows.map((s, i) => (pulses.some((p) => p.onsetS <= s.endS) ? (over[i] ?? Number.NaN) : 0));
  const peak = inPulses.reduce((a, b) => (b > a ? b : a), 0);
  // Background and peak are estimates even afterwards: rather some seconds late than early.
  const limit = toSpare * Math.max(settings.clearNtu, settings.clearShare * peak);
  const pathLeastL = pathL / toSpare;
  // Before the first pass there is nothing to answer; without any pass the opening counts.
  const starts = visit.passesS.length > 0 ? visit.passesS : [visit.fromS];
  const clears = starts.flatMap((fromS, i) => {
    const endS = i + 1 < starts.length ? (passStartsS[i + 1] ?? starts[i + 1] ?? toS) : toS;
    const atS = clearFrom(
      rows,
      over,
      fromS,
      endS,
      limit,
      pathLeastL,
      peak >= settings.clearNtu ? toSpare ** 2 * settings.restShare : null,
    );
    return atS === null ? [] : [{ fromS: atS, toS: endS === toS ? visit.toS : endS }];
  });
  return { pulses, clears };
}

const toSpare = 0.85;

/** Excess of each second over the background, which runs straight from the visit's beginning to after its end. */
function excessOf(rows: readonly TraceSecond[], trace: readonly TraceSecond[], toS: number): number[] {
  const first = rows[0];
  const after = trace.find((s) => s.endS > toS) ?? rows.at(-1);
  if (!first || !after) return [];
  const span = Math.max(1, after.endS - first.endS);
  return rows.map((s, i) => {
    const background =
      first.backgroundNtu + ((after.backgroundNtu - first.backgroundNtu) * (s.endS - first.endS)) / span;
    return smooth(rows, i) - background;
  });
}

/** Median of the seconds around, NaN when none can be read. */
function smooth(rows: readonly TraceSecond[], at: number): number {
  const near: number[] = [];
  for (let i = Math.max(0, at - halfS); i <= Math.min(rows.length - 1, at + halfS); i += 1) {
    const y = rows[i]?.ntu ?? Number.NaN;
    if (Number.isFinite(y)) near.push(y);
  }
  near.sort((a, b) => a - b);
  return near[near.length >> 1] ?? Number.NaN;
}
const halfS = 4;

/** Longest way back from a said onset. */
const backS = 60;

function redated(pulse: Pulse, rows: readonly TraceSecond[]): Pulse[] {
  const at = rows.findIndex((s) => s.endS >= pulse.onsetS);
  if (at < 0 || pulse.peakNtu === null || pulse.peakS === null) return [pulse];
  const before = smooth(rows, Math.max(0, at - halfS - 1));
  const peakAt = rows.findIndex((s) => s.endS >= (pulse.peakS ?? 0));
  const height = smooth(rows, peakAt < 0 ? at : peakAt) - before;
  if (height < (rows[at]?.detectionNtu ?? 0) / 2) return [];
  const least = Math.max(1, 0.05 * height, 2 * (rows[at]?.sd ?? 0));
  let i = peakAt < 0 ? at : peakAt;
  while (i > 0 && (rows[i]?.endS ?? 0) > pulse.onsetS - backS && !((rows[i - 1]?.ntu ?? Number.NaN) - before < least))
    i -= 1;
  // A weak rise may be clearly off its foot only after it was told.
  return [{ ...pulse, onsetS: Math.min(pulse.saidS, rows[i]?.endS ?? pulse.onsetS) }];
}

function clearFrom(
  rows: readonly TraceSecond[],
  over: readonly number[],
  fromS: number,
  endS: number,
  limit: number,
  pathL: number,
  restShare: number | null,
): number | null {
  const first = rows.findIndex((s) => s.endS > fromS);
  let last = rows.length - 1;
  while (last > first && (rows[last]?.endS ?? 0) > endS) last -= 1;
  if (first < 0 || last <= first) return null;
  const startL = rows[first]?.litres ?? 0;
  // What has passed the sensor by each second, from the visit's beginning to the end of this stretch.
  const passed = new Array<number>(last + 1).fill(0);
  for (let i = 1; i <= last; i += 1) {
    const dl = (rows[i]?.litres ?? 0) - (rows[i - 1]?.litres ?? 0);
    const e = over[i] ?? Number.NaN;
    passed[i] = (passed[i - 1] ?? 0) + (Number.isFinite(e) ? Math.max(0, e) * dl : 0);
  }
  const all = passed[last] ?? 0;
  let atS: number | null = null;
  for (let i = last; i >= first; i -= 1) {
    const isGone = restShare === null || (passed[i] ?? 0) >= (1 - restShare) * all;
    const hasFlowed = (rows[i]?.litres ?? 0) - startL >= pathL;
    if (!((over[i] ?? Number.NaN) < limit) || !isGone || !hasFlowed) break;
    atS = rows[i]?.endS ?? null;
  }
  return atS;
}
