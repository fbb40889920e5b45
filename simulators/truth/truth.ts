import type { Site, TruePass, TroubleSpan, TrueVisit } from '../engineer/site.ts';
import { clearMoments, clearNtu, remainders, type Stretch } from './clear.ts';
import type { Blindness, TruthRow } from './log.ts';

/** A pulse as the sensor truly met it. */
export interface TrueRelease {
  /** When 5 % of its peak (1 NTU at least) first stood at the sensor. */
  readonly onsetS: number;
  readonly peakS: number;
  readonly peakNtu: number;
  /** All that stood at the sensor at its onset, and of that over the settled level: is it an onset on a tail? */
  readonly levelBeforeNtu: number;
  readonly excessBeforeNtu: number;
  /** Its pass was told to the tablet. */
  readonly passS: number | null;
}

/** From the opening or a pass's end until the next pass or the shutting: what could rightly be said in between. */
export interface TrueStretch {
  readonly fromS: number;
  readonly toS: number;
  readonly clearS: number | null;
  readonly ownClearS: number | null;
}

export interface VisitTruth {
  readonly family: string;
  readonly emitter: string;
  /** Counts from 1 per emitter, as an analysis counts. */
  readonly visit: number;
  readonly fromS: number;
  readonly toS: number;
  /** Times of the taps that begin and end it in the events; the end null when it was not told. */
  readonly toldFromS: number;
  readonly toldToS: number | null;
  readonly trueClearS: number | null;
  readonly ownClearS: number | null;
  readonly mustWithhold: boolean;
  /** Neither right nor wrong to withhold: something hindered, but not all the time. */
  readonly mayWithhold: boolean;
  readonly why: Blindness | 'fouled';
  readonly peakNtu: number;
  readonly pathL: number;
  /** Seconds that the path's litres take at the visit's median flow. */
  readonly transitS: number;
  readonly passes: readonly { readonly startS: number; readonly endS: number }[];
  readonly stretches: readonly TrueStretch[];
  readonly releases: readonly TrueRelease[];
  readonly blind: readonly { readonly fromS: number; readonly toS: number; readonly why: Blindness }[];
}

export interface RinseTruth {
  readonly fromS: number;
  readonly toS: number;
  /** Turbidity and conductivity at the mains' level from here to the end. */
  readonly trueAtMainsS: number | null;
  /** The same of turbidity alone: all that can be known without a conductivity sensor. */
  readonly turbidityAtMainsS: number | null;
  readonly mustWithhold: boolean;
}

export interface Truth {
  readonly family: string;
  readonly seed: number;
  readonly visits: readonly VisitTruth[];
  readonly rinse: RinseTruth | null;
  readonly troubles: readonly TroubleSpan[];
  readonly rows: readonly TruthRow[];
}

/** A release that never reached so much at the sensor is none. */
const leastReleaseNtu = clearNtu;
/** Film on the window that would lift a clear reading visibly over the clear level. */
const fouledNtu = 4;
/** Rinse: at the mains' level means within this of its turbidity and of its conductivity. */
export const atMainsNtu = 2;
export const atMainsShare = 0.1;

export function truthOf(family: string, seed: number, site: Site, rows: readonly TruthRow[]): Truth {
  const counts = new Map<number, number>();
  const visits = site.visits.map((visit) => {
    const count = (counts.get(visit.emitter) ?? 0) + 1;
    counts.set(visit.emitter, count);
    return visitTruth(family, site, visit, count, rows);
  });
  return { family, seed, visits, rinse: rinseTruth(site, rows), troubles: site.troubles, rows };
}

function visitTruth(family: string, site: Site, visit: TrueVisit, count: number, all: readonly TruthRow[]): VisitTruth {
  const toS = visit.toS ?? site.nowS;
  const rows = all.filter((row) => row.timeS >= visit.fromS && row.timeS < toS);
  const passes = site.passes.filter((pass) => pass.visit === visit.number);
  const stretches = stretchesOf(visit, toS, passes, rows);
  const last = stretches.at(-1);
  const withhold = withholding(rows, passes.at(-1)?.endS ?? visit.fromS);
  const flows = rows.map((row) => row.flowLpm).sort((a, b) => a - b);
  const medianLpm = flows[Math.floor(flows.length / 2)] ?? 0;
  const over = remainders(rows);
  return {
    family,
    emitter: site.rig.house.emitters[visit.emitter]?.id ?? '',
    visit: count,
    fromS: visit.fromS,
    toS,
    toldFromS: visit.toldFromS,
    toldToS: visit.toldToS,
    trueClearS: withhold.must ? null : (last?.clearS ?? null),
    ownClearS: withhold.must ? null : (last?.ownClearS ?? null),
    mustWithhold: withhold.must,
    mayWithhold: withhold.may,
    why: withhold.why,
    peakNtu: highest(over),
    pathL: passes.at(-1)?.pathL ?? visit.pathL,
    transitS: medianLpm > 0.5 ? ((passes.at(-1)?.pathL ?? visit.pathL) * 60) / medianLpm : Number.POSITIVE_INFINITY,
    passes: passes.map(({ startS, endS }) => ({ startS, endS })),
    stretches,
    releases: releasesOf(visit, passes, all, rows),
    blind: blindSpans(rows),
  };
}

function highest(over: readonly number[]): number {
  return over.reduce((peak, x) => Math.max(peak, x), 0);
}

function stretchesOf(
  visit: TrueVisit,
  toS: number,
  passes: readonly TruePass[],
  rows: readonly TruthRow[],
): TrueStretch[] {
  const starts = [visit.fromS, ...passes.map((pass) => pass.endS)];
  const ends = [...passes.map((pass) => pass.startS), toS];
  const over = remainders(rows);
  return starts.map((fromS, n) => {
    const endS = ends[n] ?? toS;
    const inside = rows.filter((row) => row.timeS >= fromS && row.timeS < endS);
    const stretch: Stretch = {
      rows: inside,
      peakNtu: highest(over.filter((_, i) => (rows[i]?.timeS ?? endS) < endS)),
      fromLitres: inside[0]?.litres ?? 0,
      pathL: passes[n - 1]?.pathL ?? visit.pathL,
    };
    const { clearS, ownS } = clearMoments(stretch);
    return { fromS, toS: endS, clearS, ownClearS: ownS };
  });
}

/** The rush at the opening and each pass have their own slot; read each one's curve at the sensor. */
function releasesOf(
  visit: TrueVisit,
  passes: readonly TruePass[],
  all: readonly TruthRow[],
  rows: readonly TruthRow[],
): TrueRelease[] {
  const over = remainders(rows);
  const opening = all.find((row) => row.timeS >= visit.fromS);
  const openingSlot = opening?.slotVisit.lastIndexOf(visit.number) ?? -1;
  const sources: { slot: number; startS: number; passS: number | null }[] = passes.map((pass) => ({
    slot: pass.slot,
    startS: pass.startS,
    passS: pass.endS,
  }));
  if (openingSlot >= 0) sources.unshift({ slot: openingSlot, startS: visit.fromS, passS: null });
  const out: TrueRelease[] = [];
  for (const source of sources) {
    // A slot is taken again by the fourth pass after; until then the curve is this one's.
    const reused = sources.find((other) => other.slot === source.slot && other.startS > source.startS);
    const untilS = reused?.startS ?? Number.POSITIVE_INFINITY;
    const curve = rows.filter((row) => row.timeS >= source.startS && row.timeS < untilS);
    const rise = risesOf(curve, source.slot);
    const peakNtu = Math.max(0, ...rise);
    if (peakNtu < leastReleaseNtu) continue;
    const peak = curve[rise.indexOf(peakNtu)];
    const onset = curve[rise.findIndex((ntu) => ntu >= Math.max(1, 0.05 * peakNtu))];
    if (!peak || !onset) continue;
    out.push({
      onsetS: onset.timeS,
      peakS: peak.timeS,
      peakNtu,
      levelBeforeNtu: onset.totalNtu,
      excessBeforeNtu: over[rows.indexOf(onset)] ?? 0,
      passS: source.passS,
    });
  }
  return out;
}

/** How far a slot's dirt stands over the least so far: what it took over from an older pass may be there at the start. */
function risesOf(curve: readonly TruthRow[], slot: number): number[] {
  let lowest = Number.POSITIVE_INFINITY;
  return curve.map((row) => {
    const ntu = row.slotNtu[slot] ?? 0;
    lowest = Math.min(lowest, ntu);
    return ntu - lowest;
  });
}

function withholding(
  rows: readonly TruthRow[],
  lastPassS: number,
): { must: boolean; may: boolean; why: VisitTruth['why'] } {
  const end = rows.at(-1);
  if (!end) return { must: false, may: true, why: 'none' };
  const after = rows.filter((row) => row.timeS >= lastPassS);
  const blind = after.filter((row) => row.blind !== 'none' && row.blind !== 'no-flow');
  if (end.blind !== 'none') return { must: true, may: true, why: end.blind };
  if (blind.length > 0.8 * after.length) return { must: true, may: true, why: blind.at(-1)?.blind ?? 'none' };
  const fouled = end.foulingNtu > fouledNtu;
  const hindered = rows.some((row) => row.blind !== 'none' || !row.flowKnown) || fouled;
  return { must: false, may: hindered, why: fouled ? 'fouled' : 'none' };
}

function blindSpans(rows: readonly TruthRow[]): { fromS: number; toS: number; why: Blindness }[] {
  const out: { fromS: number; toS: number; why: Blindness }[] = [];
  for (const row of rows) {
    const last = out.at(-1);
    if (row.blind === 'none') continue;
    if (last && last.why === row.blind && row.timeS - last.toS < 1) last.toS = row.timeS;
    else out.push({ fromS: row.timeS, toS: row.timeS, why: row.blind });
  }
  return out;
}

function rinseTruth(site: Site, all: readonly TruthRow[]): RinseTruth | null {
  const fromS = site.rinseFromS;
  if (fromS === null) return null;
  const toS = site.rinseToS ?? site.nowS;
  const { mains } = site.rig.house;
  const rows = all.filter((row) => row.timeS >= fromS && row.timeS < toS);
  let trueAtMainsS: number | null = null;
  let turbidityAtMainsS: number | null = null;
  let both = true;
  for (let i = rows.length - 1; i >= 0; i -= 1) {
    const row = rows[i];
    if (!row || row.totalNtu - mains.turbidityNtu > atMainsNtu) break;
    turbidityAtMainsS = row.timeS;
    both &&= Math.abs(row.conductivityUsCm / mains.conductivityUsCm - 1) <= atMainsShare;
    if (both) trueAtMainsS = row.timeS;
  }
  const mustWithhold = (rows.at(-1)?.blind ?? 'none') !== 'none';
  if (mustWithhold) return { fromS, toS, trueAtMainsS: null, turbidityAtMainsS: null, mustWithhold };
  return { fromS, toS, trueAtMainsS, turbidityAtMainsS, mustWithhold };
}
