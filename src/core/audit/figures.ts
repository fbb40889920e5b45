import { testItemNames, testItems } from '../chemistry/limits.ts';
import { extremesIn, hasSeen, timesOf } from './coverage.ts';
import { kitLevels } from './kit-levels.ts';
import type { Gathered } from './gather.ts';
import { type EmitterOutcome, emitterOutcomes } from './outcome.ts';
import { remainingAtEnd } from './remaining.ts';
import type { VisitSummary } from './visit-summary.ts';

export interface FigureInfo {
  readonly title: string;
  readonly unit: string;
}

const info = (title: string, unit: string): FigureInfo => ({ title, unit });

const tested = Object.fromEntries(
  testItemNames.map((item) => [`after-${item}`, info(`${testItems[item].title}, after`, testItems[item].unit)]),
);

/** Every figure of a run by its name: what a firm's own rules and the charts across runs may ask for. */
export const figureList: Readonly<Record<string, FigureInfo>> = {
  durationMin: info('Length of the run', 'min'),
  emitters: info('Emitters of the system', ''),
  emittersDone: info('Emitters done', ''),
  emittersSkipped: info('Emitters skipped', ''),
  emittersNotVisited: info('Emitters never worked on', ''),
  visits: info('Visits', ''),
  passes: info('Passes', ''),
  overrides: info('Overrides', ''),
  falseStarts: info('False starts', ''),
  clearsWithdrawn: info('Clears withdrawn', ''),
  withheldS: info('Time in which nothing could be told', 's'),
  clearAfterS: info('Time to clear, median over visits', 's'),
  clearAfterMostS: info('Time to clear, longest', 's'),
  emitterLitres: info('Water through the sensor at emitters', 'l'),
  solidsG: info('Solids carried (estimate)', 'g'),
  peakNtu: info('Highest turbidity', 'NTU'),
  surveyedL: info('Water by the survey', 'l'),
  filledL: info('Water filled', 'l'),
  circulatedMin: info('Hot circulation inside its bands', 'min'),
  rinseMin: info('Length of the rinse', 'min'),
  rinseL: info('Water used by the rinse', 'l'),
  waterUsedL: info('Water used in all', 'l'),
  rinseOverNtu: info('Turbidity over the mains at the end of the rinse', 'NTU'),
  rinseOverShare: info('Conductivity over the mains at the end of the rinse', 'of the mains'),
  remainingShare: info('Cleaner left at the end of the rinse', 'of the dose'),
  cleanerL: info('Cleaner added', 'l'),
  inhibitorL: info('Inhibitor added', 'l'),
  inhibitorShare: info('Inhibitor by litres added', 'of the label strength'),
  gaps: info('Gaps in the readings', ''),
  gapS: info('Time without readings', 's'),
  pressureMostBar: info('Highest pressure', 'bar'),
  pressureLeastBar: info('Lowest pressure while emitters are worked on', 'bar'),
  returnMostC: info('Highest return temperature', '°C'),
  kitNoiseNtu: info('Noise of turbidity in clean water', 'NTU'),
  kitCleanNtu: info('Turbidity read in clean water, over the mains test', 'NTU'),
  kitZeroLpm: info('Flow read with the pump off', 'l/min'),
  kitConductivityRatio: info('Conductivity read in clean water, over the mains test', ''),
  ...tested,
};

export type RunFigures = Readonly<Record<string, number | null>>;

/** The figures of a run; null: not measured, or not so far. */
export function figuresOf(run: Gathered, visits: readonly VisitSummary[]): RunFigures {
  const all: Record<string, number | null> = {
    ...workFigures(run, visits),
    ...waterFigures(run),
    ...sensorFigures(run),
    ...kitLevels(run),
  };
  for (const item of testItemNames) all[`after-${item}`] = run.driven.worked.tests.after[item]?.value ?? null;
  return Object.fromEntries(
    Object.keys(figureList).map((name) => {
      const value = all[name] ?? null;
      return [name, value !== null && Number.isFinite(value) ? value : null];
    }),
  );
}

const sum = (values: readonly (number | null)[]): number | null =>
  values.some((v) => v !== null) ? values.reduce<number>((a, v) => a + (v ?? 0), 0) : null;

function most(values: readonly (number | null)[]): number | null {
  return values.reduce((a, v) => (v === null || (a !== null && a >= v) ? a : v), null);
}

function medianOf(values: readonly (number | null)[]): number | null {
  const known = values.flatMap((v) => (v === null ? [] : [v])).toSorted((a, b) => a - b);
  const [low, high] = [known[(known.length - 1) >> 1], known[known.length >> 1]];
  return low === undefined || high === undefined ? null : (low + high) / 2;
}

function workFigures(run: Gathered, visits: readonly VisitSummary[]): RunFigures {
  const outcomes = emitterOutcomes(run);
  const count = (result: EmitterOutcome['result']): number => outcomes.filter((e) => e.result === result).length;
  const clearAfter = visits.map((v) => v.clearAfterS);
  return {
    durationMin: run.endS / 60,
    emitters: outcomes.length,
    emittersDone: count('done'),
    emittersSkipped: count('skipped'),
    emittersNotVisited: count('not-visited'),
    visits: visits.length,
    passes: visits.reduce((n, v) => n + v.passes, 0),
    overrides: run.active.filter((e) => e.event.event === 'override').length,
    falseStarts: visits.filter((v) => v.falseStart).length,
    clearsWithdrawn: visits.reduce((n, v) => n + v.withdrawn, 0),
    withheldS: visits.reduce((n, v) => n + v.withheldS, 0),
    clearAfterS: medianOf(clearAfter),
    clearAfterMostS: most(clearAfter),
    emitterLitres: sum(visits.map((v) => v.litres)),
    solidsG: sum(visits.map((v) => v.solidsG)),
    peakNtu: most(visits.map((v) => v.peakNtu)),
  };
}

function waterFigures(run: Gathered): RunFigures {
  const { worked, live, rinse, job } = run.driven;
  const rinsing = timesOf(run, 'rinse');
  const filledL = worked.filled?.value ?? null;
  const rinseL = rinsing.length > 0 && hasSeen(run, 'flowLpm') ? (live.rinsed?.litres.value ?? null) : null;
  const { mains } = run.driven.context;
  const { turbidityNtu = null, conductivityUsCm = null } = rinse?.verdict.reason.figures ?? {};
  const dosed = (what: 'cleaner' | 'inhibitor'): number | null =>
    job.doses.some((d) => d.what === what && d.litres !== null) ? worked.added[what] : null;
  return {
    surveyedL: worked.surveyed?.value ?? null,
    filledL,
    circulatedMin: live.circulated ? live.circulated.countedS / 60 : null,
    rinseMin: rinsing.length > 0 ? rinsing.reduce((s, [a, b]) => s + b - a, 0) / 60 : null,
    rinseL,
    waterUsedL: sum([filledL, rinseL]),
    rinseOverNtu: turbidityNtu === null ? null : turbidityNtu - mains.turbidity_ntu,
    rinseOverShare:
      conductivityUsCm === null || mains.conductivity_us_cm <= 0
        ? null
        : conductivityUsCm / mains.conductivity_us_cm - 1,
    remainingShare: rinsing.length > 0 ? (remainingAtEnd(run)?.share?.value ?? null) : null,
    cleanerL: dosed('cleaner'),
    inhibitorL: dosed('inhibitor'),
    inhibitorShare: worked.strength.inhibitor?.value ?? null,
  };
}

function sensorFigures(run: Gathered): RunFigures {
  const { samples } = run.input;
  const whole = [[0, run.endS]] as const;
  return {
    gaps: samples.length > 0 ? run.gaps.length : null,
    gapS: samples.length > 0 ? run.gaps.reduce((s, g) => s + g.toS - g.fromS, 0) : null,
    pressureMostBar: extremesIn(run, whole, 'pressureBar')?.high ?? null,
    pressureLeastBar: extremesIn(run, timesOf(run, 'emitters'), 'pressureBar')?.low ?? null,
    returnMostC: extremesIn(run, whole, 'returnC')?.high ?? null,
  };
}
