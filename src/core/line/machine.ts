import type { TransitInput } from '../circuit/transit.ts';
import type { Second } from '../signal/seconds.ts';
import type { Fault } from '../signal/validity.ts';
import { forecastOf } from './forecast.ts';
import { hindrance, unanswered } from './hindrance.ts';
import { type Level, Loop } from './loop.ts';
import { normalCdf, normalQuantile } from './normal.ts';
import { Passes } from './passes.ts';
import { PulseWatch } from './pulses.ts';
import { VisitRecord } from './record.ts';
import type { LineSettings } from './settings.ts';
import { type Blindness, Sight } from './sight.ts';
import type { Forecast, LineFigures, Reason, Verdict, VerdictState, Visit } from './verdict.ts';
import type { Fit } from './washout.ts';

/** What the line room needs to know of the circuit. */
export interface Circuit {
  readonly loopL: number;
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
  private record: VisitRecord | null = null;
  private readonly counts = new Map<string, number>();
  private readonly starts = new Map<string, readonly number[]>();
  private detectionNtu = 0;
  private readonly loop: Loop;
  private readonly pulses: PulseWatch;
  private readonly sight: Sight;
  private readonly settings: LineSettings;
  private readonly circuit: Circuit;
  /** Quantile of the normal law that each clear must hold to, from the budget of false clears. */
  private readonly z: number;
  // Of the visit under way:
  private path: TransitInput = { emitter: '', pathL: 0, isOwnPath: false, emitterL: 0, fill: 1 };
  private openL = 0;
  private passedNtuL = 0;
  private ownShare = 1;
  private readonly passes: Passes;
  /** Last second in which nothing could be told, and what was said before. */
  private blindS = Number.NEGATIVE_INFINITY;
  private beforeBlind: Verdict | null = null;

  constructor(circuit: Circuit, settings: LineSettings) {
    this.circuit = circuit;
    this.settings = settings;
    this.loop = new Loop(circuit.loopL, settings);
    this.pulses = new PulseWatch(settings);
    this.sight = new Sight(settings);
    this.passes = new Passes(settings, this.loop);
    this.z = normalQuantile(1 - settings.falseClearsPerRun / settings.clearsPerRun);
  }

  /** Under this no water of this visit can be; 0 where the background is too low to tell, or not known. */
  get darkNtu(): number {
    const { ntu, known } = this.loop.background;
    return this.record && known && ntu > 5 ? Math.max(0.3, 0.05 * ntu) : 0;
  }

  get visit(): Visit | null {
    return this.record ? this.record.view(this.verdict) : null;
  }

  get figures(): LineFigures {
    const { loop, record } = this;
    const isKnown = loop.background.known;
    return {
      backgroundNtu: isKnown ? loop.level : null,
      clearLevelNtu: isKnown && record ? loop.level + this.limitNtu : null,
      excessNtu: record && loop.fit ? loop.fit.excessNtu : null,
      noiseNtu: loop.quietSd,
      litresSincePassL: record ? this.litresSincePass : null,
      litresNeededL: record ? this.litresNeeded : null,
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

  /** Litres of an emitter's path as best known now. */
  pathL(emitter: string): number {
    return this.loop.transit.throughL({ emitter, fill: this.settings.emitterFill, ...this.circuit.emitter(emitter) });
  }

  private get limitNtu(): number {
    return Math.max(this.settings.clearNtu, this.settings.clearShare * this.pulses.peakExcess);
  }

  private get litresSincePass(): number {
    const last = this.record?.passes.at(-1);
    return this.loop.litres - (last ? last.endL : this.openL);
  }

  private get pathMargin(): number {
    return 1 + this.settings.pathSds * this.loop.transit.sdShare(this.path);
  }

  private get litresNeeded(): number {
    return (this.loop.transit.throughL(this.path) * this.pathMargin) / this.ownShare;
  }

  // ---- events

  open(timeS: number, emitter: string): void {
    this.close(timeS);
    const visit = (this.counts.get(emitter) ?? 0) + 1;
    this.counts.set(emitter, visit);
    this.record = new VisitRecord(emitter, visit, timeS);
    this.path = { emitter, fill: this.settings.emitterFill, ...this.circuit.emitter(emitter) };
    this.loop.begin(this.path);
    this.pulses.begin();
    this.sight.begin();
    this.openL = this.loop.litres;
    this.passes.clear();
    this.passedNtuL = 0;
    this.ownShare = 1;
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
    this.forgiveShutting(timeS, record);
    if (record.pulse) record.pulse.endS = timeS;
    record.show(timeS, false);
    this.closed.push(record.view(this.verdict));
    this.starts.set(
      `${record.emitter}/${record.visit}`,
      record.passes.map((p) => p.startS),
    );
    this.loop.learn(timeS, true);
    this.loop.end();
    this.record = null;
    this.verdict = { ...idle, sinceS: timeS };
  }

  /**
   * The flow stopped moments before the tap that shut the emitter: it was the shutting. Then the visit ends with what was
   * said before.
   */
  private forgiveShutting(timeS: number, record: VisitRecord): void {
    const before = this.beforeBlind;
    const { reason, sinceS } = this.verdict;
    if (reason.code !== 'no-flow' || !before || timeS - sinceS > this.settings.lateTapS) return;
    const clear = record.clears.at(-1);
    if (before.state === 'clear' && clear) clear.toS = timeS;
    this.verdict = before;
  }

  passStart(timeS: number): void {
    if (!this.record) return;
    this.passes.start(timeS, this.record);
    this.newPass(timeS);
  }

  passEnd(timeS: number): void {
    if (!this.record) return;
    this.passes.end(timeS, this.record);
    this.newPass(timeS);
  }

  undoPass(timeS: number): void {
    if (!this.record) return;
    this.passes.undo(this.record);
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
    this.sight.begin();
    if (this.verdict.state !== 'cannot-tell') this.say(timeS, 'watching', this.waiting());
  }

  /** More than one emitter is open: only this share of the flow comes from the one that is worked on. */
  shared(share: number): void {
    this.ownShare = Math.min(1, Math.max(0.2, share));
  }

  // ---- seconds

  second(second: Second, fault: Fault, reading: Reading): void {
    const { loop, record } = this;
    const timeS = second.endS;
    this.detectionNtu = 3 * reading.sd + reading.step;
    const ntu = fault === 'none' || fault === 'flow-missing' ? second.ntu : Number.NaN;
    const pushed = loop.push(second, ntu, reading.step);
    if (!record) {
      if (Number.isFinite(ntu)) loop.background.idle(timeS, ntu);
      return;
    }
    record.seconds += 1;
    if (!Number.isFinite(ntu)) record.blind += 1;
    const blindness = this.sight.step(
      timeS,
      ntu,
      fault,
      this.passes.quietS(timeS, this.path, this.litresSincePass),
      this.limitNtu,
      loop,
    );
    if (blindness !== 'none') return this.blind(timeS, blindness);
    if (!Number.isFinite(ntu)) return;
    this.unhide(pushed.excess);
    if (!loop.background.known) loop.background.guess(timeS, ntu);
    if (record.pulses.length > 0) this.passedNtuL += pushed.excess * pushed.litres;
    const { sd, excess } = pushed;
    const { detectionNtu } = this;
    const seen = {
      timeS,
      ntu,
      sd,
      excess,
      detectionNtu,
      stepNtu: reading.step,
      isDue: this.passes.isDue(record, this.path),
    };
    const front = this.pulses.step(seen, loop, record);
    if (front) this.learnTransit(front.onsetS, record);
    if (loop.rebase(timeS) && record.pulse) record.pulse.endS = timeS;
    this.judge(timeS, ntu, record);
  }

  /** What the reading now tells of what went by over its range. */
  private unhide(excessNtu: number): void {
    const { loop, passes } = this;
    const releasedL = passes.isUnderWay ? loop.litres : (this.record?.passes.at(-1)?.endL ?? this.openL);
    const pulse = this.sight.back(loop, excessNtu, releasedL + loop.transit.pipeL(this.path));
    if (!pulse) return;
    this.pulses.raise(pulse.peakNtu);
    this.passedNtuL += pulse.passedNtuL;
  }

  private blind(timeS: number, fault: Blindness): void {
    this.blindS = timeS;
    if (this.verdict.state !== 'cannot-tell') this.beforeBlind = this.verdict;
    this.pulses.restart();
    this.say(timeS, 'cannot-tell', { code: fault, figures: { silentS: this.settings.silenceS } });
  }

  /** The first front after a pass tells how far the emitter is. */
  private learnTransit(onsetS: number, record: VisitRecord): void {
    const pass = this.passes.answeredBy(record);
    if (!pass) return;
    const unsureS = pass.isToldStart ? 4 : 14;
    const litres = this.loop.litresAt(onsetS) - pass.startL;
    this.loop.learnTransit(litres, this.loop.litresPerS * unsureS, this.path);
  }

  // ---- verdict

  private judge(timeS: number, ntu: number, record: VisitRecord): void {
    const { loop } = this;
    if (loop.stretch < 0 && !record.pulse && loop.litres - this.openL > loop.transit.throughL(this.path)) {
      loop.stretch = loop.series.length - 1;
    }
    const fit = loop.refit();
    if (!fit || loop.stretch < 0) {
      if (this.verdict.state === 'clear' && !record.pulse) return;
      this.say(timeS, record.pulse ? 'carrying' : 'watching', this.waiting(ntu));
      return;
    }
    const now = loop.standing(fit);
    const figures = this.standingFigures(fit, now);
    if (this.verdict.state === 'clear') {
      if (now.ntu - 2 * now.sd > 1.2 * this.limitNtu) this.say(timeS, 'settling', { code: 'risen-again', figures });
      return;
    }
    const why = hindrance({
      ...{ timeS, settings: this.settings, loop, passes: this.passes, pulses: this.pulses, record, path: this.path },
      ...{ fit, now, limitNtu: this.limitNtu, z: this.z, pathMargin: this.pathMargin, ownShare: this.ownShare },
      litresSincePassL: this.litresSincePass,
      litresNeededL: this.litresNeeded,
      passedNtuL: this.passedNtuL,
      blindS: this.blindS,
    });
    if (why) {
      // While a pulse is open its water has come: the word is never taken back to "watching".
      if (unansweredCodes.has(why.code) && record.pulse) {
        this.say(timeS, 'carrying', this.waiting(ntu));
        return;
      }
      const isWatching = waitingCodes.has(why.code);
      const forecast = isWatching ? null : this.forecast(timeS, fit, now);
      this.say(
        timeS,
        isWatching ? 'watching' : 'settling',
        { code: why.code, figures: { ...figures, ...why.figures } },
        { forecast },
      );
      return;
    }
    if (record.pulse) record.pulse.endS = timeS;
    const last = record.passes.at(-1);
    // What nobody watched may have brought something.
    const done = last !== undefined && record.isWatched && !record.pulses.some((p) => p.saidS > last.startS);
    const confidence = normalCdf((this.limitNtu - now.ntu) / now.sd);
    this.say(timeS, 'clear', { code: done ? 'done' : 'clear', figures }, { done, confidence });
  }

  private forecast(timeS: number, fit: Fit, now: Level): Forecast | null {
    const { echoSds } = this.settings;
    return forecastOf({
      timeS,
      fit,
      now,
      limitNtu: this.limitNtu,
      litresPerS: this.loop.litresPerS,
      echo: this.loop.echo.ahead(echoSds, { share: fit.echoShare, sd: fit.echoShareSd }),
    });
  }

  private standingFigures(fit: Fit, now: Level): Record<string, number> {
    return {
      excessNtu: now.ntu,
      backgroundNtu: fit.backgroundNtu,
      limitNtu: this.limitNtu,
      ...this.litreFigures(),
    };
  }

  private litreFigures(): Record<string, number> {
    const figures: Record<string, number> = {
      litresSincePassL: this.litresSincePass,
      litresNeededL: this.litresNeeded,
    };
    // Without a flow sensor the litres are reckoned; whoever reads the sentence must know.
    if (!this.loop.hasFlow) figures['reckonedLpm'] = this.loop.reckonedLpm;
    return figures;
  }

  private waiting(ntu = Number.NaN): Reason {
    const figures = this.litreFigures();
    if (Number.isFinite(ntu)) figures['ntu'] = ntu;
    if (this.passes.isUnderWay) return { code: 'passing', figures };
    if (this.record?.pulse) return { code: 'arriving', figures };
    return { code: unanswered(this.record), figures };
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

/** Hindrances that are a wait for water, not for it to clear. */
const unansweredCodes = new Set(['not-answered', 'no-water-yet']);
const waitingCodes = new Set(['passing', ...unansweredCodes, 'no-pass-yet']);
