import type { Site, TroubleSpan, TrueVisit } from '../engineer/site.ts';
import { type BlindSpan, blindSpans, seeingS, type Withholding, withholding } from './blind.ts';
import { ownOf } from './clear.ts';
import type { TruthRow } from './log.ts';
import { releasesOf, type StirSpan, stirsOf, type TrueRelease } from './releases.ts';
import { stretchesOf, type TrueStretch } from './stretches.ts';

export type { TrueRelease } from './releases.ts';

export interface VisitTruth {
  readonly family: string;
  readonly emitter: string;
  /** Counts from 1 per emitter, as an analysis counts. */
  readonly visit: number;
  /** Counts from 1 in the run: the number under which its dirt is kept in the rows. */
  readonly number: number;
  readonly fromS: number;
  readonly toS: number;
  /** Times of the taps that begin and end it in the events; the end null when it was not told. */
  readonly toldFromS: number;
  readonly toldToS: number | null;
  readonly trueClearS: number | null;
  readonly ownClearS: number | null;
  /** Seconds from the true clear moment to the shutting in which it could be seen; null without one. */
  readonly leftS: number | null;
  readonly mustWithhold: boolean;
  /** Neither right nor wrong to withhold: something hindered, but not all the time. */
  readonly mayWithhold: boolean;
  readonly why: Withholding['why'];
  /** Highest that its own release stood at the sensor on its first way through. */
  readonly peakNtu: number;
  readonly pathL: number;
  /** Seconds that the path's litres take at the visit's median flow. */
  readonly transitS: number;
  readonly passes: readonly { readonly startS: number; readonly endS: number; readonly toldS: number | null }[];
  readonly stretches: readonly TrueStretch[];
  readonly releases: readonly TrueRelease[];
  readonly blind: readonly BlindSpan[];
}

export interface RinseTruth {
  readonly fromS: number;
  readonly toS: number;
  /** Turbidity and conductivity at the mains' level from here to the end. */
  readonly trueAtMainsS: number | null;
  /** The same of turbidity alone: all that can be known without a conductivity sensor. */
  readonly turbidityAtMainsS: number | null;
  /** Both, as near as sensors can tell: said before this it is false. */
  readonly nearMainsS: number | null;
  readonly nearTurbidityS: number | null;
  readonly mustWithhold: boolean;
}

export interface Truth {
  readonly family: string;
  readonly seed: number;
  readonly visits: readonly VisitTruth[];
  readonly rinse: RinseTruth | null;
  /** Where the water at the sensor truly got dirtier. */
  readonly stirs: readonly StirSpan[];
  readonly troubles: readonly TroubleSpan[];
  readonly rows: readonly TruthRow[];
}

/** Rinse: at the mains' level means within this of its turbidity and of its conductivity. */
export const atMainsNtu = 2;
export const atMainsShare = 0.1;
/** What sensors with noise and scale errors can still take for it. */
const nearMainsNtu = 4;
const nearMainsShare = 0.12;

export function truthOf(family: string, seed: number, site: Site, rows: readonly TruthRow[]): Truth {
  const counts = new Map<number, number>();
  const visits = site.visits.map((visit) => {
    const count = (counts.get(visit.emitter) ?? 0) + 1;
    counts.set(visit.emitter, count);
    return visitTruth(family, site, visit, count, rows);
  });
  const stirs = stirsOf(rows, site.sensors.spec.turbidity);
  return { family, seed, visits, rinse: rinseTruth(site, rows), stirs, troubles: site.troubles, rows };
}

function visitTruth(family: string, site: Site, visit: TrueVisit, count: number, all: readonly TruthRow[]): VisitTruth {
  const toS = visit.toS ?? site.nowS;
  const sensor = site.sensors.spec.turbidity;
  const rows = all.filter((row) => row.timeS >= visit.fromS && row.timeS < toS);
  const passes = site.passes.filter((pass) => pass.visit === visit.number);
  const stretches = stretchesOf({ visit, toS, passes, rows, sensor });
  const withhold = withholding(rows, passes.at(-1)?.endS ?? visit.fromS);
  const last = withhold.must ? undefined : stretches.at(-1);
  const flows = rows.map((row) => row.flowLpm).sort((a, b) => a - b);
  const medianLpm = flows[Math.floor(flows.length / 2)] ?? 0;
  const pathL = passes.at(-1)?.pathL ?? visit.pathL;
  const blind = blindSpans(rows);
  const trueClearS = last?.clearS ?? null;
  return {
    family,
    emitter: site.rig.house.emitters[visit.emitter]?.id ?? '',
    visit: count,
    number: visit.number,
    fromS: visit.fromS,
    toS,
    toldFromS: visit.toldFromS,
    toldToS: visit.toldToS,
    trueClearS,
    ownClearS: last?.ownClearS ?? null,
    leftS: trueClearS === null ? null : seeingS(blind, trueClearS, toS),
    mustWithhold: withhold.must,
    mayWithhold: withhold.may,
    why: withhold.why,
    peakNtu: rows.reduce((peak, row) => Math.max(peak, ownOf(row, 'slotNtu', visit.number)), 0),
    pathL,
    transitS: medianLpm > 0.5 ? (pathL * 60) / medianLpm : Number.POSITIVE_INFINITY,
    passes: passes.map(({ startS, endS, toldS }) => ({ startS, endS, toldS })),
    stretches,
    releases: releasesOf({ visit, passes, rows, sensor }),
    blind,
  };
}

function rinseTruth(site: Site, all: readonly TruthRow[]): RinseTruth | null {
  const fromS = site.rinseFromS;
  if (fromS === null) return null;
  const toS = site.rinseToS ?? site.nowS;
  const { mains } = site.rig.house;
  const rows = all.filter((row) => row.timeS >= fromS && row.timeS < toS);
  const mustWithhold = (rows.at(-1)?.blind ?? 'none') !== 'none';
  const since = (ntu: number, share: number): number | null => {
    let fromS: number | null = null;
    for (const row of rows.toReversed()) {
      const isNear = Math.abs(row.conductivityUsCm / mains.conductivityUsCm - 1) <= share;
      if (mustWithhold || row.totalNtu - mains.turbidityNtu > ntu || !isNear) break;
      fromS = row.timeS;
    }
    return fromS;
  };
  return {
    fromS,
    toS,
    trueAtMainsS: since(atMainsNtu, atMainsShare),
    turbidityAtMainsS: since(atMainsNtu, Number.POSITIVE_INFINITY),
    nearMainsS: since(nearMainsNtu, nearMainsShare),
    nearTurbidityS: since(nearMainsNtu, Number.POSITIVE_INFINITY),
    mustWithhold,
  };
}
