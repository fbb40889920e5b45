import { volumeByDilution } from '../../chemistry/dilution.ts';
import { doseLitres, strengthOf } from '../../chemistry/dose.ts';
import { checkRate, type LabelRate, rateUnits, shareOf } from '../../chemistry/label-rate.ts';
import { type LimitSet, type TestItem, defaultLimits, withLimits } from '../../chemistry/limits.ts';
import { type Mixing, mixingOf } from '../../chemistry/mixed.ts';
import { type ToleranceVerdict, toleranceOf, toleratedShare } from '../../chemistry/tolerance.ts';
import { compareTests, swappedItems, type TestRow, type WaterTest } from '../../chemistry/water-test.ts';
import type { Proposed } from '../../circuit/order.ts';
import { type BestVolume, bestVolume } from '../../circuit/system-volume.ts';
import { complianceOf } from '../../hydraulics/compliance.ts';
import { againstSurvey, type FillComparison } from '../../hydraulics/fill.ts';
import { type HoldResult, pressureHold } from '../../hydraulics/leak-rate.ts';
import type { Verdict } from '../../line/verdict.ts';
import { exact, type Uncertain, withShare } from '../../quantity/interval.ts';
import type { Outcome, Refusal } from '../../quantity/refusal.ts';
import { type MainsSettings, mainsLevel } from '../../rinse/at-mains.ts';
import { type RinseForecast, rinseForecast } from '../../rinse/forecast.ts';
import { type Remaining, remainingCleaner } from '../../rinse/remaining.ts';
import type { RunContext } from '../context.ts';
import type { Job } from '../state.ts';
import { surveyFigures } from '../survey-rows.ts';
import { testOf, type Water } from '../water-tests.ts';
import type { LiveFigures, RinseReading } from './live.ts';

/** What follows from what was typed and measured: the figures that several stages share. */
export interface Worked {
  readonly surveyed: Uncertain | null;
  readonly surveyProblem: Refusal | null;
  readonly softMallet: readonly string[];
  /** Proposed visiting order. */
  readonly order: readonly Proposed[];
  readonly volume: BestVolume | null;
  readonly rates: Readonly<Record<Chemical, LabelRate | null>>;
  readonly doses: Readonly<Record<Chemical, Outcome<Uncertain> | null>>;
  /** Litres added so far. */
  readonly added: Readonly<Record<Chemical, number>>;
  /** What was added, as a share of what the label wants. */
  readonly strength: Readonly<Record<Chemical, Uncertain | null>>;
  readonly filled: Uncertain | null;
  readonly fill: FillComparison | null;
  readonly hold: Outcome<HoldResult> | null;
  readonly mixing: Mixing | null;
  /** Litres per bar over the last of the filling; null where it was not measured. */
  readonly compliance: Uncertain | null;
  /** System volume by the dilution of the dose; null before it is mixed or without a jug test. */
  readonly diluted: Outcome<Uncertain> | null;
  /** Cleaner in the water that passes the sensor; after the rinse, or with inhibitor in, what it was before. */
  readonly remaining: Remaining | null;
  readonly left: CleanerLeft;
  readonly forecast: RinseForecast | null;
  readonly limits: LimitSet;
  readonly tests: Readonly<Record<Water, WaterTest>>;
  readonly compared: readonly TestRow[];
  readonly swapped: readonly TestItem[];
  /** Share of the cleaner's dose that the inhibitor stands. */
  readonly tolerated: number;
  readonly tolerance: ToleranceVerdict;
}

export type Chemical = 'cleaner' | 'inhibitor';

/** Cleaner that the inhibitor meets, by the newest that tells of it. */
export interface CleanerLeft {
  /** The water test after the rinse, the rinse itself where it came to mains level, or the sensor. */
  readonly by: 'test' | 'rinse' | 'sensor';
  /** Share of its dose; null where it is not measured, or the rinse is what tells. */
  readonly share: Uncertain | null;
}

/** The same of the sensors' turbidity and conductivity where no certificate says better. */
const sensorShare = 0.03;

export function workedOut(
  job: Job,
  live: LiveFigures,
  context: RunContext,
  rinse: Verdict | null,
  settings: MainsSettings,
): Worked {
  const { result, problems } = surveyFigures(job.survey);
  const surveyed = result?.volume ?? null;
  const filled = filledOf(job, live);
  const fromEmpty = job.checks.includes('filled-from-empty');
  const rates = { cleaner: rateOf(job, 'cleaner'), inhibitor: rateOf(job, 'inhibitor') };
  const added = { cleaner: addedOf(job, 'cleaner'), inhibitor: addedOf(job, 'inhibitor') };
  const mixing =
    live.beforeDose && live.mixPoints.length > 0
      ? mixingOf(live.beforeDose, live.mixPoints, context.loop_volume_l)
      : null;
  const diluted = dilutedOf(job, added.cleaner, mixing, rates.cleaner);
  const volume = bestVolume({
    ...(surveyed ? { survey: surveyed } : {}),
    ...(filled && fromEmpty ? { fill: filled } : {}),
    ...(diluted?.ok ? { dilution: diluted.value } : {}),
  });
  const compliance = complianceOf(job.checks.includes('fill-through-rig') ? live.fillPoints : []);
  const doseOf = (what: Chemical): Outcome<Uncertain> | null => {
    const rate = rates[what];
    return rate && volume ? doseLitres(volume.litres, rate) : null;
  };
  const tests = { mains: testOf(job, 'mains'), before: testOf(job, 'before'), after: testOf(job, 'after') };
  const remaining = remainingOf(live, mixing, context, sensorConductivity(live));
  const left = leftOf(job, rinse, remaining, remainingOf(live, mixing, context, tests.after.conductivity ?? null));
  const usual = defaultLimits([...new Set(job.survey.emitters.map((e) => e.material))]);
  const limits = withLimits(job.limitTable ?? usual, job.limitChanges);
  const tolerated = toleratedOf(job);
  return {
    surveyed,
    surveyProblem: problems[0]?.refusal ?? null,
    softMallet: result?.softMallet ?? [],
    order: result?.order ?? [],
    volume,
    rates,
    doses: { cleaner: doseOf('cleaner'), inhibitor: doseOf('inhibitor') },
    added,
    strength: {
      cleaner: strength(added.cleaner, volume, rates.cleaner),
      inhibitor: strength(added.inhibitor, volume, rates.inhibitor),
    },
    filled,
    fill: filled && fromEmpty && surveyed ? againstSurvey(filled, surveyed) : null,
    hold: holdOf(job, live),
    mixing,
    compliance: compliance.ok ? compliance.value : null,
    diluted,
    remaining,
    left,
    forecast: forecastOf(live, context, mainsLevel(context.mains, settings)),
    limits,
    tests,
    compared: compareTests(tests.before, tests.after, tests.mains, limits),
    swapped: swappedItems(tests.mains, tests.before),
    tolerated,
    tolerance: toleranceOf(left.share, left.by === 'rinse' ? 'at-mains' : 'cut-short', tolerated),
  };
}

/** Standard uncertainty of what is measured out by hand, a share of it: our own estimate, no source. */
const handShare = 0.03;

/** The jug holds the label's dose for one litre in a litre of the same water: what that raises is known, so is the share. */
function dilutedOf(job: Job, addedL: number, mixing: Mixing | null, rate: LabelRate | null): Outcome<Uncertain> | null {
  const jug = job.entries['typed jug-us-cm']?.data['value'];
  if (typeof jug !== 'number' || !rate || addedL <= 0 || mixing?.state !== 'mixed' || !mixing.step) return null;
  const jugMl = withShare(1000 * shareOf(rate), handShare);
  return volumeByDilution(withShare(addedL, handShare), mixing.step, jugMl, withShare(jug, sensorShare));
}

function strength(added: number, volume: BestVolume | null, rate: LabelRate | null): Uncertain | null {
  if (!volume || !rate || added === 0) return null;
  const out = strengthOf(exact(added), volume.litres, rate);
  return out.ok ? out.value : null;
}

/** The flow sensor where water passed it, else the water meter. */
function filledOf(job: Job, live: LiveFigures): Uncertain | null {
  const typed = job.entries['typed fill-litres']?.data['value'];
  if (typeof typed === 'number') return withShare(typed, 0.02);
  const passed = job.checks.includes('fill-through-rig');
  return passed && live.filled && live.filled.litres.value > 1 ? live.filled.litres : null;
}

function rateOf(job: Job, what: Chemical): LabelRate | null {
  const data = job.entries[`label ${what}`]?.data;
  const unit = rateUnits.find((u) => u === data?.['unit']);
  const amount = data?.['amount'];
  if (!unit || typeof amount !== 'number') return null;
  const checked = checkRate({ amount, unit });
  return checked.ok ? checked.value : null;
}

function addedOf(job: Job, what: Chemical): number {
  return job.doses.filter((d) => d.what === what).reduce((sum, d) => sum + (d.litres ?? 0), 0);
}

/** What the inhibitor's label allows, where it was typed. */
function toleratedOf(job: Job): number {
  const percent = job.entries['typed tolerated-percent']?.data['value'];
  return typeof percent === 'number' ? percent / 100 : toleratedShare;
}

function holdOf(job: Job, live: LiveFigures): Outcome<HoldResult> | null {
  if (!job.hold) return null;
  const compliance = complianceOf(job.checks.includes('fill-through-rig') ? live.fillPoints : []);
  return pressureHold(live.holdPoints, job.survey.system, compliance.ok ? compliance.value : null);
}

function sensorConductivity({ now, rinsedOut }: LiveFigures): Uncertain | null {
  const usCm = rinsedOut ? rinsedOut.usCm : now.conductivityUsCm;
  return usCm === null ? null : withShare(usCm, sensorShare);
}

function remainingOf(
  live: LiveFigures,
  mixing: Mixing | null,
  context: RunContext,
  sample: Uncertain | null,
): Remaining | null {
  if (!sample || !live.beforeDose || !mixing?.step) return null;
  const dosed = { value: live.beforeDose.value + mixing.step.value, u: Math.hypot(live.beforeDose.u, mixing.step.u) };
  return remainingCleaner(sample, dosed, withShare(context.mains.conductivity_us_cm, sensorShare));
}

/** A test that was made after the rinse says what is in the system, whatever the rinse said before. */
function leftOf(job: Job, rinse: Verdict | null, sensed: Remaining | null, tested: Remaining | null): CleanerLeft {
  const testedS = job.entries['sample after']?.timeS ?? Number.NEGATIVE_INFINITY;
  const isAtMains = rinse?.state === 'clear';
  if (tested?.share && !(isAtMains && testedS < rinse.sinceS)) return { by: 'test', share: tested.share };
  return isAtMains ? { by: 'rinse', share: null } : { by: 'sensor', share: sensed?.share ?? null };
}

/** @param limits highest turbidity and conductivity that are still the mains' */
function forecastOf(live: LiveFigures, context: RunContext, limits: MainsLimits): RinseForecast | null {
  const { mains, emitters } = context;
  const { rinsePoints: points, rinseWay: way } = live;
  const over = (of: (p: RinseReading) => number | null, least: number, most: number) =>
    points.flatMap((p) => {
      const value = of(p);
      return value === null ? [] : [{ litres: p.litres, over: (value - least) / (most - least) }];
    });
  // Which emitter is open may not have been told: then one of the usual size.
  const known = emitters.find((e) => e.id === way.emitter)?.volume_l;
  const usual = emitters.reduce((sum, e) => sum + e.volume_l, 0) / Math.max(1, emitters.length);
  return rinseForecast({
    channels: [
      over((p) => p.ntu, mains.turbidity_ntu, limits.ntu),
      over((p) => p.usCm, mains.conductivity_us_cm, limits.usCm),
    ],
    flowedL: (points.at(-1)?.litres ?? way.fromL) - way.fromL,
    wayL: context.loop_volume_l + (known ?? usual),
    isFirst: way.before === 0,
    flowLpm: live.now.flowLpm ?? 0,
  });
}

type MainsLimits = ReturnType<typeof mainsLevel>;
