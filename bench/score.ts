import type { Verdicts, VisitResult } from '../src/core/analyse-recording.ts';
import type { TrueRelease, VisitTruth } from '../simulators/truth/truth.ts';
import { seeingS } from '../simulators/truth/blind.ts';
import type { BenchRun } from './dataset.ts';
import type { Tally } from './tally.ts';

/** Truth and verdicts are compared to the second. */
const slackS = 1;
/** Onsets agree when they lie this near. */
const nearS = 15;
/** A clear said no earlier than this before the true moment was nearly right. */
const slightlyS = 15;
/** Time that a clear moment must last for an engineer to see it. */
const leastToSeeS = 45;

/** What went wrong, for whoever looks into it. */
export type Complaint = (what: string) => void;

export function scoreRun(run: BenchRun, result: Verdicts, tally: Tally, complain: Complaint = () => {}): void {
  tally.runs += 1;
  const tell = (emitter: string, visit: number) => (what: string) =>
    complain(`${run.family}-${run.seed} ${emitter}/${visit} ${what}`);
  for (const truth of run.visits) {
    const found = result.visits.find((v) => v.emitter === truth.emitter && v.visit === truth.visit);
    scoreVisit(run, truth, found, tally, tell(truth.emitter, truth.visit));
  }
  scoreRinse(run, result, tally, tell('rinse', 1));
}

function scoreVisit(
  run: BenchRun,
  truth: VisitTruth,
  said: VisitResult | undefined,
  tally: Tally,
  complain: Complaint,
): void {
  tally.visits += 1;
  tally.passes += truth.passes.length;
  let firstRightS = Number.POSITIVE_INFINITY;
  if (said) scoreConfidence(run, truth, said, tally);
  for (const clear of said?.clears ?? []) {
    tally.clears += 1;
    const { own, echo, caught, earlyS } = judgeClear(truth, clear.from_s, run.context.sample_hz);
    if (own) tally.wrongOwn += 1;
    if (own || echo || caught) tally.wrongCaught += 1;
    if (own || echo) {
      tally.wrongEcho += 1;
      if (earlyS <= slightlyS) tally.wrongSlightly += 1;
      complain(
        `wrong clear (${own ? 'own' : 'echo'}) at ${clear.from_s.toFixed(0)}, true ${truth.trueClearS?.toFixed(0)}`,
      );
    } else if (truth.trueClearS !== null && (clear.to_s ?? truth.toS) > truth.trueClearS) {
      firstRightS = Math.min(firstRightS, Math.max(clear.from_s, truth.trueClearS));
    }
  }
  scoreDelay(truth, said, firstRightS, tally, (what) =>
    complain(`${what} (at the end: ${said?.reason.code ?? 'nothing'})`),
  );
  scoreRefusal(truth, said?.withheld ?? false, tally, complain);
  scoreOnsets(run, truth, said, tally, complain);
}

/** A blind sensor must be seen for what it is within so long; one that is stuck after 30 rows more. */
const blindS = 5;
const stuckRows = 30;

/** Whether a clear is wrong by the visit's own release, by what goes round too, or by all that the chambers would still catch,
 * and how long before the true moment. */
export interface Judged {
  readonly own: boolean;
  readonly echo: boolean;
  readonly caught: boolean;
  readonly ownEarlyS: number;
  readonly earlyS: number;
}

/**
 * A clear is judged by the water of the stretch that the engineer is in, as far as anybody could know: a pass that was not
 * told is known of when its water has come. Said while a known pass is under way it is wrong.
 */
export function judgeClear(truth: VisitTruth, atS: number, hz: number): Judged {
  const never = Number.POSITIVE_INFINITY;
  const wrong = { own: true, echo: true, caught: true, ownEarlyS: never, earlyS: never };
  const grace = (why: string) => blindS + (why === 'stuck' ? stuckRows / hz : 0);
  if (truth.blind.some((b) => b.fromS + grace(b.why) < atS && atS < b.toS)) return wrong;
  const known = truth.stretches.findLastIndex((s) => s.knownS <= atS);
  const clearIn = truth.stretches.findLastIndex((s) => s.clearS !== null && s.clearS - slackS <= atS);
  const stretch = truth.stretches[Math.max(0, known, clearIn)];
  if (!stretch || atS < stretch.fromS) return wrong;
  const ownEarlyS = (stretch.ownClearS ?? never) - atS;
  const earlyS = (stretch.clearS ?? never) - atS;
  const caughtEarlyS = (stretch.caughtS ?? never) - atS;
  return { own: ownEarlyS > slackS, echo: earlyS > slackS, caught: caughtEarlyS > slackS, ownEarlyS, earlyS };
}

function scoreConfidence(run: BenchRun, truth: VisitTruth, said: VisitResult, tally: Tally): void {
  if (said.clear_at_s === null || said.confidence === null) return;
  const { own, echo } = judgeClear(truth, said.clear_at_s, run.context.sample_hz);
  tally.standing += 1;
  if (!own && !echo) tally.standingRight += 1;
  tally.toldSum += said.confidence;
}

function scoreDelay(
  truth: VisitTruth,
  said: VisitResult | undefined,
  firstRightS: number,
  tally: Tally,
  complain: Complaint,
): void {
  const trueS = truth.trueClearS;
  if (trueS === null || truth.leftS === null) return;
  if (truth.leftS < Math.max(leastToSeeS, truth.transitS)) return;
  // To refuse before a window that may be fouled is neither right nor wrong.
  if (truth.why === 'fouled' && said?.withheld) return;
  tally.due += 1;
  if (Number.isFinite(firstRightS)) {
    const delayS = seeingS(truth.blind, trueS, firstRightS);
    if (delayS > 60) complain(`late by ${delayS.toFixed(0)} s`);
    tally.delaysS.push(delayS);
    tally.delaysTransits.push(delayS / truth.transitS);
    return;
  }
  // One that was said too early and stands is shown, and wrong already.
  if (said?.clears.some((c) => c.from_s < truth.toS && (c.to_s ?? truth.toS) > trueS)) return;
  tally.missed += 1;
  complain(`missed, true ${trueS.toFixed(0)}, shut ${truth.toS.toFixed(0)}`);
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

/** A pulse answers a release whose water came about when it is dated: near its first trace, or up to its peak. */
function answers(onsetS: number, release: TrueRelease): boolean {
  return onsetS > release.firstS - nearS && onsetS < Math.max(release.onsetS + nearS, release.peakS);
}

function scoreOnsets(
  run: BenchRun,
  truth: VisitTruth,
  said: VisitResult | undefined,
  tally: Tally,
  complain: Complaint,
): void {
  const pulses = said?.pulses ?? [];
  const used = new Set<number>();
  for (const release of truth.releases) {
    const hit = pulses.findIndex((p, i) => !used.has(i) && answers(p.onset_s, release));
    if (hit >= 0) used.add(hit);
    if (!release.isDue) continue;
    if (truth.blind.some((b) => b.fromS - 5 < release.peakS && release.firstS < b.toS + 5)) continue;
    const isLow = release.levelBeforeNtu < 0.3 * release.topNtu;
    if (hit < 0)
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
    const isHit = used.has(i) || truth.releases.some((r) => answers(pulse.onset_s, r));
    // Dirt that truly came, but that no pass of this visit set free: an echo, an earlier visit's. Neither right nor wrong.
    if (!isHit && run.stirs.some((s) => s.fromS <= pulse.onset_s && pulse.onset_s <= s.toS)) continue;
    tally.pulses += 1;
    if (isHit) tally.pulseHits += 1;
    else complain(`pulse that is none at ${pulse.onset_s}`);
  }
}

function scoreRinse(run: BenchRun, result: Verdicts, tally: Tally, complain: Complaint): void {
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
  const earliestS = hasConductivity ? truth.nearMainsS : truth.nearTurbidityS;
  if (saidS !== null && (earliestS === null || saidS < earliestS - slackS)) {
    tally.rinseFalse += 1;
    complain(`rinse falsely at mains level at ${saidS}, true ${trueS}`);
    return;
  }
  if (trueS === null || truth.toS - trueS < leastToSeeS) return;
  tally.rinseDue += 1;
  if (saidS === null) {
    tally.rinseMissed += 1;
    complain(`rinse missed, true ${trueS}`);
  } else tally.rinseDelaysS.push(Math.max(0, saidS - trueS));
}
