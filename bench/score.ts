import type { RecordingResult, VisitResult } from '../src/core/analyse-recording.ts';
import type { TrueRelease, VisitTruth } from '../simulators/truth/truth.ts';
import type { BenchRun } from './dataset.ts';

/** Counts and delays over any number of visits; the bars are made of these. */
export interface Tally {
  runs: number;
  visits: number;
  passes: number;
  clears: number;
  wrongOwn: number;
  wrongEcho: number;
  due: number;
  missed: number;
  delaysS: number[];
  delaysTransits: number[];
  lowOnsets: number;
  lowHits: number;
  tailOnsets: number;
  tailHits: number;
  pulses: number;
  pulseHits: number;
  mustWithhold: number;
  withheldRight: number;
  others: number;
  withheldWrong: number;
  rinses: number;
  rinseFalse: number;
  rinseDue: number;
  rinseMissed: number;
  rinseDelaysS: number[];
}

export function emptyTally(): Tally {
  return {
    runs: 0,
    visits: 0,
    passes: 0,
    clears: 0,
    wrongOwn: 0,
    wrongEcho: 0,
    due: 0,
    missed: 0,
    delaysS: [],
    delaysTransits: [],
    lowOnsets: 0,
    lowHits: 0,
    tailOnsets: 0,
    tailHits: 0,
    pulses: 0,
    pulseHits: 0,
    mustWithhold: 0,
    withheldRight: 0,
    others: 0,
    withheldWrong: 0,
    rinses: 0,
    rinseFalse: 0,
    rinseDue: 0,
    rinseMissed: 0,
    rinseDelaysS: [],
  };
}

/** Truth and verdicts are compared to the second. */
const slackS = 1;
/** A pulse answers a release when its onset lies this near, or between the release's onset and its peak. */
const nearS = 15;
/** Time that a clear moment must last for an engineer to see it. */
const leastToSeeS = 45;

/** What went wrong, for whoever looks into it. */
export type Complaint = (what: string) => void;

export function scoreRun(run: BenchRun, result: RecordingResult, tally: Tally, complain: Complaint = () => {}): void {
  tally.runs += 1;
  const tell = (emitter: string, visit: number) => (what: string) =>
    complain(`${run.family}-${run.seed} ${emitter}/${visit} ${what}`);
  for (const truth of run.visits) {
    const found = result.visits.find((v) => v.emitter === truth.emitter && v.visit === truth.visit);
    scoreVisit(truth, found, tally, tell(truth.emitter, truth.visit), toldStarts(run, truth.emitter));
  }
  scoreRinse(run, result, tally, tell('rinse', 1));
}

/** When an engineer told that a pass begins, seconds. */
function toldStarts(run: BenchRun, emitter: string): readonly number[] {
  return run.events.filter((e) => e.event === 'agitate-start' && e.emitter === emitter).map((e) => e.timeS);
}

function scoreVisit(
  truth: VisitTruth,
  said: VisitResult | undefined,
  tally: Tally,
  complain: Complaint,
  told: readonly number[],
): void {
  tally.visits += 1;
  tally.passes += truth.passes.length;
  let firstRightS = Number.POSITIVE_INFINITY;
  for (const clear of said?.clears ?? []) {
    tally.clears += 1;
    const { own, echo } = judgeClear(truth, clear.from_s, told);
    if (own) tally.wrongOwn += 1;
    if (own || echo) {
      tally.wrongEcho += 1;
      complain(
        `wrong clear (${own ? 'own' : 'echo'}) at ${clear.from_s.toFixed(0)}, true ${truth.trueClearS?.toFixed(0)}`,
      );
    } else if (truth.trueClearS !== null && (clear.to_s ?? truth.toS) > truth.trueClearS) {
      firstRightS = Math.min(firstRightS, Math.max(clear.from_s, truth.trueClearS));
    }
  }
  scoreDelay(truth, firstRightS, tally, (what) => complain(`${what} (at the end: ${said?.reason.code ?? 'nothing'})`));
  scoreRefusal(truth, said?.withheld ?? false, tally, complain);
  scoreOnsets(truth, said, tally, complain);
}

/**
 * A clear is judged by the water of the stretch in which it was said. While a pass is under way that nobody told of, and
 * whose water has not come yet, nothing can be known of it: the clear is then a late word on the stretch before.
 */
function judgeClear(truth: VisitTruth, atS: number, told: readonly number[]): { own: boolean; echo: boolean } {
  if (truth.blind.some((b) => b.fromS + 5 < atS && atS < b.toS)) return { own: true, echo: true };
  const within = truth.stretches.find((s) => s.fromS - slackS <= atS && atS < s.toS);
  const pass = truth.passes.find((p) => p.startS <= atS && atS < p.endS);
  const hasCome = pass && truth.releases.some((r) => r.onsetS > pass.startS && r.onsetS <= atS);
  const isTold = pass && told.some((t) => t > pass.startS - nearS && t <= atS);
  const before = pass && !isTold && !hasCome ? truth.stretches.find((s) => s.toS === pass.startS) : undefined;
  const stretch = within ?? before;
  if (!stretch) return { own: true, echo: true };
  const after = (clearS: number | null) => clearS === null || atS < clearS - slackS;
  return { own: after(stretch.ownClearS), echo: after(stretch.clearS) };
}

function scoreDelay(truth: VisitTruth, firstRightS: number, tally: Tally, complain: Complaint): void {
  if (truth.trueClearS === null || truth.mustWithhold) return;
  if (truth.toS - truth.trueClearS < Math.max(leastToSeeS, truth.transitS)) return;
  tally.due += 1;
  if (!Number.isFinite(firstRightS)) {
    tally.missed += 1;
    complain(`missed, true ${truth.trueClearS.toFixed(0)}, shut ${truth.toS.toFixed(0)}`);
    return;
  }
  const delayS = firstRightS - truth.trueClearS;
  if (delayS > 60) complain(`late by ${delayS.toFixed(0)} s`);
  tally.delaysS.push(delayS);
  tally.delaysTransits.push(delayS / truth.transitS);
}

function scoreRefusal(truth: VisitTruth, withheld: boolean, tally: Tally, complain: Complaint): void {
  if (truth.mustWithhold) {
    tally.mustWithhold += 1;
    if (withheld) tally.withheldRight += 1;
    else complain(`not withheld (${truth.why})`);
  } else if (!truth.mayWithhold) {
    tally.others += 1;
    if (withheld) tally.withheldWrong += 1;
    if (withheld) complain('withheld without need');
  }
}

function answers(onsetS: number, release: TrueRelease): boolean {
  return onsetS > release.onsetS - nearS && onsetS < Math.max(release.onsetS + nearS, release.peakS);
}

function scoreOnsets(truth: VisitTruth, said: VisitResult | undefined, tally: Tally, complain: Complaint): void {
  const pulses = said?.pulses ?? [];
  const used = new Set<number>();
  for (const release of truth.releases) {
    if (truth.blind.some((b) => b.fromS - 5 < release.peakS && release.onsetS < b.toS + 5)) continue;
    const isLow = release.excessBeforeNtu < 0.3 * release.peakNtu;
    const hit = pulses.findIndex((p, i) => !used.has(i) && answers(p.onset_s, release));
    if (hit >= 0) used.add(hit);
    else
      complain(
        `onset missed (${isLow ? 'low' : 'tail'}) at ${release.onsetS.toFixed(0)}, peak ${release.peakNtu.toFixed(0)}`,
      );
    if (isLow) {
      tally.lowOnsets += 1;
      if (hit >= 0) tally.lowHits += 1;
    } else {
      tally.tailOnsets += 1;
      if (hit >= 0) tally.tailHits += 1;
    }
  }
  for (const [i, pulse] of pulses.entries()) {
    tally.pulses += 1;
    if (used.has(i) || truth.releases.some((r) => answers(pulse.onset_s, r))) tally.pulseHits += 1;
    else complain(`pulse that is none at ${pulse.onset_s}`);
  }
}

function scoreRinse(run: BenchRun, result: RecordingResult, tally: Tally, complain: Complaint): void {
  const truth = run.rinse;
  if (!truth) return;
  tally.rinses += 1;
  const saidS = result.rinse?.clear_at_s ?? null;
  if (truth.mustWithhold) {
    tally.mustWithhold += 1;
    if (result.rinse?.withheld) tally.withheldRight += 1;
    else complain('rinse not withheld');
  }
  // Without a conductivity sensor turbidity is all that can be known.
  const hasConductivity = run.samples.some((s) => s.conductivityUsCm !== null);
  const trueS = hasConductivity ? truth.trueAtMainsS : truth.turbidityAtMainsS;
  if (saidS !== null && (trueS === null || saidS < trueS - slackS)) {
    tally.rinseFalse += 1;
    complain(`rinse falsely at mains level at ${saidS}, true ${trueS}`);
    return;
  }
  if (trueS === null || truth.toS - trueS < leastToSeeS) return;
  tally.rinseDue += 1;
  if (saidS === null) {
    tally.rinseMissed += 1;
    complain(`rinse missed, true ${trueS}`);
  } else tally.rinseDelaysS.push(saidS - trueS);
}
