import type { TransitInput } from '../circuit/transit.ts';
import type { Second } from '../signal/seconds.ts';
import type { Fault } from '../signal/validity.ts';
import { Falls } from './fall.ts';
import { forecastFor, type Phase } from './forecast.ts';
import { climbReason } from './film.ts';
import { hindrance } from './hindrance.ts';
import { Loop, type Waters } from './loop.ts';
import { normalCdf, normalQuantile } from './normal.ts';
import { Passes } from './passes.ts';
import { PulseWatch } from './pulses.ts';
import { VisitRecord } from './record.ts';
import { standing } from './remainder.ts';
import type { LineSettings } from './settings.ts';
import { type Blindness, Sight } from './sight.ts';
import type { Forecast, LineFigures, Notice, Reason, Verdict, VerdictState, Visit } from './verdict.ts';
import { Unseen } from './unseen.ts';
import { litreFigures, waiting } from './waiting.ts';

/** What the line room needs to know of the circuit. */
export interface Circuit extends Waters {
  emitter(id: string): Pick<TransitInput, 'pathL' | 'isOwnPath' | 'emitterL'>;
}

/** Of the turbidity sensor: scatter of one reading, and quantisation step, NTU. */
export interface Reading {
  readonly sd: number;
  readonly step: number;
}

const idle: Verdict = {
  state: 'idle',
  done: false,
  reason: { code: 'idle', figures: {} },
  sinceS: 0,
  confidence: null,
  forecast: null,
};

/**
 * From seconds and the engineer's events to a verdict: the visit's state machine. One instance per run; what the run
 * learns of its water is in `Loop`. Causal by construction: it holds nothing but what has been.
 */
export class LineMachine {
  verdict: Verdict = idle;
  readonly closed: Visit[] = [];
  /** The visit under way: its passes, and its record; null between visits. */
  private passes: Passes | null = null;
  private readonly counts = new Map<string, number>();
  private readonly starts = new Map<string, readonly number[]>();
  private detectionNtu = 0;
  private stepNtu = 0;
  private readonly loop: Loop;
  private readonly pulses: PulseWatch;
  private readonly falls = new Falls();
  private readonly sight: Sight;
  private readonly settings: LineSettings;
  private circuit: Circuit;
  /** Quantile of the normal law that each clear must hold to, from the budget of false clears. */
  private readonly z: number;
  private readonly unseen: Unseen;

  constructor(circuit: Circuit, settings: LineSettings) {
    this.circuit = circuit;
    this.settings = settings;
    this.loop = new Loop(circuit, settings);
    this.pulses = new PulseWatch(settings);
    this.sight = new Sight(settings);
    this.unseen = new Unseen(settings);
    this.z = normalQuantile(1 - settings.falseClearsPerRun / settings.clearsPerRun);
  }

  private get record(): VisitRecord | null {
    return this.passes?.record ?? null;
  }

  /** Under this no water of this visit can be; 0 where the background is too low to tell, or not known. */
  get darkNtu(): number {
    const { ntu, known } = this.loop.background;
    // A coarse converter shows nought for thin water.
    return this.record && known && ntu > Math.max(leastLightNtu, 2 * this.stepNtu) ? Math.max(0.3, 0.05 * ntu) : 0;
  }

  get visit(): Visit | null {
    return this.record ? this.record.view(this.verdict) : null;
  }

  get figures(): LineFigures {
    const { loop, record, passes } = this;
    const isKnown = loop.background.known;
    const excess = loop.series.length > 0 ? loop.newest().ntu - loop.settledNtu : Number.NaN;
    return {
      backgroundNtu: isKnown ? loop.settledNtu : null,
      clearLevelNtu: isKnown && record ? loop.settledNtu + this.limitNtu : null,
      excessNtu: isKnown && Number.isFinite(excess) ? excess : null,
      noiseNtu: loop.quietSd,
      litresSincePassL: passes ? passes.sinceL : null,
      litresNeededL: passes ? passes.neededL : null,
    };
  }

  /** The second just taken in. */
  get trace(): ReturnType<Loop['newest']> & { readonly detectionNtu: number } {
    return { ...this.loop.newest(), detectionNtu: this.detectionNtu };
  }

  /** Beginnings of the passes of a visit, in order. */
  passStartsS(visit: Visit): readonly number[] {
    return this.starts.get(`${visit.emitter}/${visit.visit}`) ?? this.record?.passes.map((p) => p.startS) ?? [];
  }

  /** Litres that have flowed in the run so far; reckoned without a flow sensor. */
  get litresL(): number {
    return this.loop.litres;
  }

  /** Litres of an emitter's path as best known now. */
  pathL(emitter: string): number {
    return this.loop.transit.throughL({ emitter, fill: this.settings.emitterFill, ...this.circuit.emitter(emitter) });
  }

  private get limitNtu(): number {
    return Math.max(this.settings.clearNtu, this.settings.clearShare * this.pulses.peakExcess);
  }

  /** A straight climb of the reading that is to be told now; null where there is none. */
  get climb(): Notice | null {
    const { climb } = this.sight;
    if (!this.record || !climb) return null;
    const atS = this.loop.newest().endS;
    return { atS, fromS: atS - climb.spanS, reason: climbReason(climb) };
  }

  // ---- events

  open(timeS: number, emitter: string): void {
    this.close(timeS);
    const visit = (this.counts.get(emitter) ?? 0) + 1;
    this.counts.set(emitter, visit);
    const path = { emitter, fill: this.settings.emitterFill, ...this.circuit.emitter(emitter) };
    this.passes = new Passes(this.settings, this.loop, new VisitRecord(emitter, visit, timeS), path);
    this.loop.begin(path);
    this.pulses.begin();
    this.falls.restart();
    this.sight.begin();
    this.say(timeS, 'watching', this.waiting());
  }

  shut(timeS: number, emitter: string): void {
    if (this.record?.emitter === emitter) this.close(timeS);
  }

  /** Ends the visit under way, if any. */
  close(timeS: number): void {
    const { record } = this;
    if (!record) return;
    record.toS = timeS;
    this.verdict = this.unseen.ending(timeS, this.verdict, record);
    if (record.pulse) record.pulse.endS = timeS;
    record.show(timeS, false);
    this.closed.push(record.view(this.verdict));
    this.starts.set(
      `${record.emitter}/${record.visit}`,
      record.passes.map((p) => p.startS),
    );
    this.loop.learn(timeS, true);
    this.loop.end();
    this.passes = null;
    this.verdict = { ...idle, sinceS: timeS };
  }

  passStart(timeS: number): void {
    this.passes?.start(timeS);
    this.newPass(timeS);
  }

  passEnd(timeS: number): void {
    this.passes?.end(timeS);
    this.newPass(timeS);
  }

  undoPass(timeS: number): void {
    this.passes?.undo();
    this.newPass(timeS);
  }

  /** Another kit reads from now on: what was learned of the background was another sensor's. */
  otherKit(timeS: number): void {
    this.loop.background.doubt(timeS, Math.max(5, this.loop.background.ntu));
    if (this.record) this.sight.otherKit();
  }

  /** The bridge was off: nobody saw what went by since. */
  wasAway(timeS: number): void {
    if (this.record) this.blind(timeS, 'restarted');
  }

  private newPass(timeS: number): void {
    if (!this.passes) return;
    this.sight.begin();
    if (this.verdict.state !== 'cannot-tell') this.say(timeS, 'watching', this.waiting());
  }

  /** The circuit is known to be another: its paths are asked for at the next opening. */
  resurveyed(circuit: Circuit): void {
    this.circuit = circuit;
    this.loop.resurvey(circuit);
  }

  /** Only this share of the flow comes from the emitter that is worked on: another is open, too. 1: it is alone again. */
  shared(share: number, fromS: number): void {
    if (this.passes) this.loop.own.set(Math.max(leastShare, share), this.loop.litresAt(fromS));
  }

  // ---- seconds

  second(second: Second, fault: Fault, reading: Reading): void {
    const { loop, passes } = this;
    const timeS = second.endS;
    this.stepNtu = reading.step;
    this.detectionNtu = 3 * reading.sd + reading.step;
    const ntu = fault === 'none' || fault === 'flow-missing' ? second.ntu : Number.NaN;
    const pushed = loop.push(second, ntu, reading.step);
    if (!passes) {
      if (Number.isFinite(ntu)) loop.idle(timeS, ntu);
      return;
    }
    const { record } = passes;
    record.seconds += 1;
    if (!Number.isFinite(ntu)) record.blind += 1;
    const blindness = this.sight.step(timeS, ntu, fault, passes, this.limitNtu, loop);
    if (blindness !== 'none') return this.blind(timeS, blindness);
    if (!Number.isFinite(ntu)) return;
    const unseen = this.sight.back(loop, pushed.excess, passes.releasedL, record.pulse?.onsetS);
    if (unseen) this.pulses.unseen(unseen);
    if (!loop.background.known) loop.background.guess(timeS, ntu);
    const { isDue } = passes;
    if (this.closed.length === 0 && record.pulses.length === 0 && !isDue) loop.background.before(timeS, ntu);
    const { detectionNtu } = this;
    // Written out: a spread here was seen in the profile of a long recording.
    const { sd, excess, litres } = pushed;
    const seen = { timeS, ntu, sd, excess, litres, detectionNtu, stepNtu: reading.step, isDue };
    const front = this.pulses.step(seen, loop, record);
    if (front) this.learnTransit(front.onsetS, passes);
    this.learnThrough(this.falls.step(seen, record.pulse?.peakS === timeS, loop, passes), passes);
    if (loop.rebase(timeS) && record.pulse) record.pulse.endS = timeS;
    this.judge(timeS, ntu, passes);
  }

  private blind(timeS: number, fault: Blindness): void {
    const before = this.verdict;
    this.pulses.restart();
    this.falls.restart();
    this.say(timeS, 'cannot-tell', { code: fault, figures: { silentS: this.settings.silenceS } });
    this.unseen.second(timeS, before, this.verdict);
  }

  /** The first front after a pass tells how far the emitter is. */
  private learnTransit(onsetS: number, passes: Passes): void {
    const pass = passes.answered;
    if (!pass || passes.isShared) return;
    const unsureS = pass.isToldStart ? 4 : 14;
    const onsetL = this.loop.litresAt(onsetS);
    // A front that took long to be sure of may have begun anywhere in it.
    const sdL = Math.hypot(this.loop.litresPerS * unsureS, this.loop.litres - onsetL);
    this.loop.learnTransit(onsetL - pass.startL, sdL, passes.path);
  }

  /** A fall after a pass tells when its water has gone by. */
  private learnThrough(litres: number | null, passes: Passes): void {
    if (litres === null) return;
    if (!this.loop.hasFlow) passes.shown(litres);
    this.loop.learnThrough(litres, this.loop.litresPerS * lateEndS, passes.path);
  }

  // ---- verdict

  private judge(timeS: number, ntu: number, passes: Passes): void {
    const { loop, settings, pulses, limitNtu, z } = this;
    const blindS = this.unseen.lastS;
    const { record } = passes;
    if (loop.stretch < 0 && !record.pulse && passes.changes > 1) loop.stretch = loop.series.length - 1;
    if (passes.changes > settings.lowChanges) loop.learnLow(timeS);
    // While the water is waited for, or a clear stands, no second's fit decides anything.
    const isCalm = this.verdict.state === 'clear' || passes.sinceL < passes.neededL;
    const fit = loop.refit(passes.answeredL, isCalm ? calmEveryS : 1);
    if (!fit || loop.stretch < 0) {
      if (this.verdict.state === 'clear' && !record.pulse) return;
      this.await(timeS, ntu);
      return;
    }
    const now = standing(loop, fit);
    const figures = {
      excessNtu: now.ntu,
      backgroundNtu: fit.settledNtu,
      limitNtu,
      ...litreFigures(loop, passes),
    };
    if (this.verdict.state === 'clear') {
      if (now.ntu - 2 * now.sd > 1.2 * limitNtu) this.say(timeS, 'settling', { code: 'risen-again', figures });
      return;
    }
    const why = hindrance({ timeS, settings, loop, passes, pulses, fit, now, limitNtu, z, blindS });
    if (why) {
      // While a pulse is open its water has come, and falls here: the word is never taken back to "watching".
      const isFalling = record.pulse !== null && unansweredCodes.has(why.code);
      const isWatching = !isFalling && waitingCodes.has(why.code);
      const forecast = this.forecast(timeS, isFalling ? 'coming' : isWatching ? 'waiting' : 'settling');
      this.say(
        timeS,
        isWatching ? 'watching' : 'settling',
        { code: isFalling && now.ntu > limitNtu ? 'over-limit' : why.code, figures: { ...figures, ...why.figures } },
        { forecast },
      );
      return;
    }
    if (record.pulse) record.pulse.endS = timeS;
    const last = record.passes.at(-1);
    // What nobody watched may have brought something.
    const done = last !== undefined && record.isWatched && !record.pulses.some((p) => p.saidS > last.startS);
    const confidence = settings.modelHolds * normalCdf((limitNtu - now.ntu) / now.sd);
    const reason = done
      ? { code: 'done', figures: { ...figures, detectionNtu: this.detectionNtu } }
      : { code: 'clear', figures };
    this.say(timeS, 'clear', reason, { done, confidence });
  }

  private forecast(timeS: number, phase: Phase): Forecast | null {
    const { loop, passes, limitNtu } = this;
    return passes ? forecastFor(loop, passes, { timeS, phase, excessNtu: this.figures.excessNtu, limitNtu }) : null;
  }

  /** The water of the last pass is waited for, or comes through. */
  private await(timeS: number, ntu: number): void {
    const reason = this.waiting(ntu);
    const isComing = this.record?.pulse !== null && this.record?.pulse !== undefined;
    const forecast = this.forecast(timeS, isComing ? 'coming' : 'waiting');
    this.say(timeS, isComing ? 'carrying' : 'watching', reason, { forecast });
  }

  private waiting(ntu = Number.NaN): Reason {
    return waiting(this.loop, this.passes, ntu);
  }

  private say(
    timeS: number,
    state: VerdictState,
    reason: Reason,
    more: { done?: boolean; confidence?: number; forecast?: Forecast | null } = {},
  ): void {
    const { record, verdict } = this;
    const done = more.done ?? false;
    const isSame = verdict.state === state && verdict.done === done;
    const sinceS = isSame ? verdict.sinceS : timeS;
    this.verdict = {
      state,
      done,
      reason,
      sinceS,
      confidence: more.confidence ?? null,
      forecast: more.forecast ?? null,
    };
    record?.show(timeS, state === 'clear');
  }
}

/** Thinner water can read as little as a dead lamp, NTU. Chosen on simulated runs, no source. */
const leastLightNtu = 2.5;
/** No emitter is reckoned with less of the flow: the share is an estimate. */
const leastShare = 0.2;
/** How far from the true end of a pass its tap may be, s. */
const lateEndS = 4;
/** Seconds between two fits where nothing hangs on one. */
const calmEveryS = 3;
/** Hindrances that are a wait for water, not for it to clear. */
const unansweredCodes = new Set(['not-answered', 'no-water-yet', 'untold-to-come']);
const waitingCodes = new Set(['passing', ...unansweredCodes, 'no-pass-yet']);
