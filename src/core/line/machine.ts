import { Transit, type TransitInput } from '../circuit/transit.ts';
import { Noise } from '../signal/noise.ts';
import type { Second } from '../signal/seconds.ts';
import { Series } from '../signal/series.ts';
import type { Fault } from '../signal/validity.ts';
import { Background } from './background.ts';
import { Echo, type Kernel } from './echo.ts';
import { Foldback } from './foldback.ts';
import { Fronts } from './front.ts';
import { VisitRecord } from './record.ts';
import { standstill } from './standstill.ts';
import type { LineSettings } from './settings.ts';
import type { LineFigures, Reason, Verdict, VerdictState, Visit } from './verdict.ts';
import { type Fit, fitWashout } from './washout.ts';

/** What the line room needs to know of the circuit. */
export interface Circuit {
  readonly loopL: number;
  emitter(id: string): { readonly pathL: number; readonly isOwnPath: boolean; readonly emitterL: number };
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
 * From seconds and the engineer's events to a verdict. One instance per run: it carries the background, the rig's echo
 * and the transit from visit to visit. Causal by construction: it holds nothing but what has been.
 */
export class LineMachine {
  verdict: Verdict = idle;
  readonly closed: Visit[] = [];
  private record: VisitRecord | null = null;
  private readonly counts = new Map<string, number>();
  private readonly series = new Series();
  private readonly noise: Noise;
  private readonly echo: Echo;
  private readonly background: Background;
  private readonly transit = new Transit();
  private readonly fronts: Fronts;
  private readonly settings: LineSettings;
  private readonly circuit: Circuit;
  /** Quantile of the normal law that each clear must hold to, from the budget of false clears. */
  private readonly z: number;
  private litres = 0;
  private pseudoFlow = Number.NaN;
  private hasFlow = false;
  // Of the visit under way:
  private path: TransitInput = { emitter: '', pathL: 0, isOwnPath: false, emitterL: 0, fill: 0.5 };
  private openL = 0;
  private agitating = false;
  private agitateStartS = Number.NaN;
  private agitateStartL = Number.NaN;
  private peakExcess = 0;
  private passedNtuL = 0;
  private segment = -1;
  private pulsePeak = 0;
  /** First second of the visit, in the series. */
  private visitIndex = -1;
  private fit: Fit | null = null;
  private sawSincePass = 0;
  private nowS = 0;
  /** Last second in which nothing could be told. */
  private blindS = Number.NEGATIVE_INFINITY;
  private ownShare = 1;
  private beforeBlind: Verdict | null = null;
  private readonly foldback = new Foldback();
  private echoLow = 0;
  private washoutLog = -0.2;
  /** Litres at the last peak, and its excess. */
  private peakL = 0;
  /** Limit of detection without a calibration: three times the scatter of a reading and one quantisation step. */
  private detectionNtu = 1;
  private stepNtu = 0;
  private peakNtu = 0;

  constructor(circuit: Circuit, settings: LineSettings) {
    this.circuit = circuit;
    this.settings = settings;
    this.noise = new Noise(settings.noiseFloorNtu, settings.noiseShare, 4);
    this.echo = new Echo(this.series, circuit.loopL, settings.echoShare, settings.echoShareSd);
    this.background = new Background(settings.backgroundDriftNtu);
    this.fronts = new Fronts(settings.onsetEvidenceDue, settings.onsetEvidenceFree);
    this.z = normalQuantile(1 - settings.falseClearsPerRun / settings.clearsPerRun);
  }

  /** Standard deviation of one second's turbidity in quiet water, NTU. */
  get quietSd(): number {
    return this.noise.sd(Math.max(0, this.background.ntu));
  }

  /** Under this no water of this visit can be; 0 where the background is too low to tell, or not known. */
  get darkNtu(): number {
    const { ntu, known } = this.background;
    return this.record && known && ntu > 5 ? Math.max(0.3, 0.05 * ntu) : 0;
  }

  get visit(): Visit | null {
    return this.record ? this.record.view(this.verdict) : null;
  }

  get figures(): LineFigures {
    const known = this.background.known;
    const fit = this.fit;
    const record = this.record;
    const background = fit ? fit.backgroundNtu : this.background.ntu;
    return {
      backgroundNtu: known ? background : null,
      clearLevelNtu: known && record ? background + this.limitNtu : null,
      excessNtu: record && fit ? fit.excessNtu : null,
      noiseNtu: this.quietSd,
      litresSincePassL: record ? this.litresSincePass : null,
      litresNeededL: record ? this.litresNeeded : null,
    };
  }

  private get limitNtu(): number {
    return Math.max(this.settings.clearNtu, this.settings.clearShare * this.peakExcess);
  }

  private get litresSincePass(): number {
    const last = this.record?.passes.at(-1);
    return this.litres - (last ? last.endL : this.openL);
  }

  /** More than one emitter is open: only this share of the flow comes from the one that is worked on. */
  shared(share: number): void {
    this.ownShare = Math.min(1, Math.max(0.2, share));
  }

  private get litresNeeded(): number {
    return (this.transit.throughL(this.path) * this.pathMargin) / this.ownShare;
  }

  /** Litres over which this emitter's dirt washes out: what it holds, and some of the pipe; learned from the tails seen. */
  private get washoutL(): number {
    return Math.max(0.3, (this.path.emitterL * this.path.fill + 0.2 * this.path.pathL) * Math.exp(this.washoutLog));
  }

  private get pathMargin(): number {
    return 1 + this.settings.pathSds * this.transit.sdShare(this.path);
  }

  // ---- events

  open(timeS: number, emitter: string): void {
    this.close(timeS);
    this.finishSegment(timeS);
    const visit = (this.counts.get(emitter) ?? 0) + 1;
    this.counts.set(emitter, visit);
    this.record = new VisitRecord(emitter, visit, timeS);
    this.path = { emitter, fill: this.settings.emitterFill, ...this.circuit.emitter(emitter) };
    this.openL = this.litres;
    this.visitIndex = this.series.length;
    this.agitating = false;
    this.agitateStartS = Number.NaN;
    this.peakExcess = 0;
    this.passedNtuL = 0;
    this.segment = -1;
    this.ownShare = 1;
    this.fit = null;
    this.say(timeS, 'watching', this.waiting());
  }

  shut(timeS: number, emitter: string): void {
    if (this.record && this.record.emitter === emitter) this.close(timeS);
  }

  /** Ends the visit under way, if any. */
  close(timeS: number): void {
    const { record } = this;
    if (!record) return;
    record.toS = timeS;
    this.forgiveShutting(timeS, record);
    const pulse = record.pulse;
    if (pulse) pulse.endS = timeS;
    const clear = record.clears.at(-1);
    if (clear && clear.toS === null) clear.toS = timeS;
    this.closed.push(record.view(this.verdict));
    this.finishSegment(timeS);
    this.segment = -1;
    this.record = null;
    this.verdict = { ...idle, sinceS: timeS };
  }

  /**
   * The flow stopped moments before the tap that shut the emitter: it was the shutting. Then the visit ends with what was
   * said before.
   */
  private forgiveShutting(timeS: number, record: VisitRecord): void {
    const before = this.beforeBlind;
    if (this.verdict.reason.code !== 'no-flow' || !before || timeS - this.verdict.sinceS > this.settings.lateTapS)
      return;
    const clear = record.clears.at(-1);
    if (before.state === 'clear' && clear) clear.toS = timeS;
    this.verdict = before;
  }

  passStart(timeS: number): void {
    if (!this.record) return;
    this.agitating = true;
    this.agitateStartS = timeS;
    this.agitateStartL = this.litres;
    this.newPass(timeS);
  }

  passEnd(timeS: number): void {
    const { record } = this;
    if (!record) return;
    let startS = this.agitateStartS;
    let startL = this.agitateStartL;
    if (!this.agitating) {
      startS = Math.max(record.fromS, timeS - this.settings.passLengthS);
      startL = this.litresAt(startS);
    }
    record.passes.push({ startS, endS: timeS, startL, endL: this.litres, told: this.agitating });
    this.agitating = false;
    record.seconds = record.blind = 0;
    this.newPass(timeS);
  }

  undoPass(timeS: number): void {
    if (!this.record) return;
    this.record.passes.pop();
    this.agitating = false;
    this.say(timeS, 'watching', this.waiting());
  }

  private newPass(timeS: number): void {
    this.sawSincePass = this.record?.pulses.length ?? 0;
    if (this.verdict.state !== 'cannot-tell') this.say(timeS, 'watching', this.waiting());
  }

  /** Index of the last second that had ended by then. */
  private indexAt(timeS: number): number {
    const { series } = this;
    let i = series.length - 1;
    while (i > series.first && series.get(series.t, i) > timeS) i -= 1;
    return i;
  }

  private litresAt(timeS: number): number {
    return this.series.length > 0 ? this.series.get(this.series.litres, this.indexAt(timeS)) : this.litres;
  }

  // ---- seconds

  second(second: Second, fault: Fault, reading: { readonly sd: number; readonly step: number }): void {
    this.detectionNtu = 3 * reading.sd + reading.step;
    this.stepNtu = reading.step;
    this.nowS = second.endS;
    const before = this.litres;
    this.flow(second);
    const usable = fault === 'none' || fault === 'flow-missing';
    const ntu = usable ? second.ntu : Number.NaN;
    if (Number.isFinite(ntu)) this.noise.step(ntu);
    const sd = Math.hypot(this.noise.sd(Math.max(0, Number.isFinite(ntu) ? ntu : 0)), 0.3 * reading.step);
    const level = this.fit ? this.fit.backgroundNtu : this.background.ntu;
    const excess = Number.isFinite(ntu) && this.background.known ? Math.max(0, ntu - level) : this.lastExcess();
    this.series.push(second.endS, this.litres, ntu, sd, excess);
    this.echo.step(this.record ? this.path.emitterL * this.path.fill : 0);
    const { record } = this;
    if (!record) {
      if (Number.isFinite(ntu)) this.background.idle(second.endS, ntu);
      return;
    }
    record.seconds += 1;
    if (!Number.isFinite(ntu)) record.blind += 1;
    const folded = this.foldback.step(second.endS, this.litres, ntu, fault === 'over-range', this.washoutL);
    if (fault !== 'none') {
      this.blind(second.endS, fault);
      return;
    }
    if (!Number.isFinite(ntu)) return;
    if (folded) {
      this.blind(second.endS, 'folded');
      return;
    }
    if (!this.background.known) this.background.guess(second.endS, ntu);
    const excessNow = Math.max(0, ntu - level);
    if (record.pulses.length > 0) this.passedNtuL += excessNow * (this.litres - before);
    this.look(ntu, sd, excessNow);
    this.rebase(second.endS);
    this.judge(second.endS, ntu);
  }

  /** What stands still above (or below) the background for longer than any release could is the background now. */
  private rebase(timeS: number): void {
    const record = this.record;
    if (!record || timeS % 5 !== 0 || this.visitIndex < 0) return;
    const { rebaseS, rebaseShare } = this.settings;
    const spanL = Math.max(4 * this.prior(timeS).washoutL, 1.2 * this.echo.kernel.loopL);
    const still = standstill(this.series, this.visitIndex, spanL, rebaseS);
    if (!still) return;
    const excess = still.ntu - this.background.ntu;
    if (Math.abs(excess) < 2 * this.background.sd(timeS)) return;
    if (excess > 0 && still.changeNtu - 2 * still.changeSd < -rebaseShare * excess) return;
    this.background.learn(timeS, still.ntu, Math.hypot(still.sd, (0.5 * Math.abs(still.changeNtu)) / 10));
    if (record.pulse) record.pulse.endS = timeS;
    this.segment = this.series.length - 15;
  }

  private flow(second: Second): void {
    if (Number.isFinite(second.flowLpm)) {
      this.hasFlow = true;
      this.litres += second.flowLpm / 60;
      return;
    }
    if (this.hasFlow) return;
    // No flow sensor: litres of a slow usual flow, so that time stands in for litres with its margin.
    if (Number.isNaN(this.pseudoFlow)) this.pseudoFlow = slowFlowLpm;
    this.litres += this.pseudoFlow / 60;
  }

  private lastExcess(): number {
    const n = this.series.length;
    return n > 0 ? this.series.get(this.series.excess, n - 1) : 0;
  }

  private blind(timeS: number, fault: Fault | 'folded'): void {
    this.blindS = timeS;
    if (this.verdict.state !== 'cannot-tell') this.beforeBlind = this.verdict;
    this.fronts.restart();
    this.say(timeS, 'cannot-tell', { code: fault, figures: { silentS: this.settings.silenceS } });
  }

  /** Fronts, peaks and ends of pulses. */
  private look(ntu: number, sd: number, excess: number): void {
    const record = this.record;
    if (!record) return;
    const k = this.echo.kernel;
    const expected = k.share * k.now;
    // Only what the echo has risen by lately can be taken for a front.
    this.echoLow = k.now < this.echoLow ? k.now : this.echoLow + 0.05 * (k.now - this.echoLow);
    const unsure = Math.sqrt(k.shareVar) * (k.now - this.echoLow);
    const floor = this.fit ? this.fit.backgroundNtu : this.background.ntu;
    const scatter = Math.max(Math.hypot(1.2 * sd, 0.02 * excess, unsure), this.detectionNtu / 3, 0.7 * this.stepNtu);
    const due = this.isDue();
    const front = this.fronts.step(this.nowS, ntu - expected, scatter, floor, due);
    const pulse = record.pulse;
    if (front) {
      if (pulse) pulse.endS = front.onsetS;
      this.learnTransit(front.onsetS);
      record.pulses.push({ ...front, peakS: null, peakNtu: null, endS: null, marked: due });
      this.pulsePeak = 0;
      this.finishSegment(front.onsetS);
      this.segment = -1;
    }
    const open = record.pulse;
    if (!open) return;
    if (ntu > this.pulsePeak) {
      this.pulsePeak = ntu;
      open.peakS = this.nowS;
      this.peakL = this.litres;
      this.peakNtu = excess;
      open.peakNtu = ntu;
      this.segment = -1;
    }
    const peak = this.pulsePeak - floor;
    if (peak > this.peakExcess) this.peakExcess = peak;
    const stale = open.peakS !== null && this.nowS - open.peakS > staleS;
    if (this.segment < 0 && (excess < 0.6 * peak || stale)) this.segment = this.series.length - 1;
    if (excess < Math.max(this.settings.clearNtu, this.settings.clearShare * peak) && this.segment >= 0)
      open.endS = this.nowS;
  }

  /** A front that no pass explains means that one is under way untold: its end is somewhere ahead. */
  private isUntoldPass(timeS: number): boolean {
    const last = this.record?.pulses.at(-1);
    if (!last || last.marked) return false;
    const end = this.record?.passes.at(-1);
    if (end && end.endS > last.onsetS) return false;
    const endS = last.onsetS + this.settings.untoldPassS;
    if (timeS < endS) return true;
    const through = this.transit.throughL(this.path) - this.transit.pipeL(this.path);
    return this.litres - this.litresAt(endS) < through * this.pathMargin;
  }

  private isDue(): boolean {
    const record = this.record;
    if (!record) return false;
    const pipe = 0.5 * this.transit.pipeL(this.path);
    const late = 1.5 * this.transit.throughL(this.path);
    if (this.agitating && this.litres - this.agitateStartL > pipe) return true;
    const last = record.passes.at(-1);
    return last !== undefined && this.litres - last.startL > pipe && this.litres - last.endL < late;
  }

  private learnTransit(onsetS: number): void {
    const record = this.record;
    const last = record?.passes.at(-1);
    if (!record || !last || record.pulses.length > this.sawSincePass) return;
    const litresPerS = (this.litres - this.litresAt(this.nowS - 10)) / 10;
    this.transit.learn(this.litresAt(onsetS) - last.startL, litresPerS * (last.told ? 4 : 14), this.path);
  }

  /** Ends a stretch of readings: what it taught of background and echo is kept. */
  private finishSegment(timeS: number): void {
    if (this.segment < 0) return;
    // The last seconds before a front is declared belong to it already.
    const to = this.indexAt(timeS) - 2;
    const from = this.windowStart(to);
    if (to - from < 20) return;
    const prior = this.prior(timeS);
    const fit = fitWashout(this.series, this.echo.kernel.values, from, to, prior);
    if (!fit) return;
    if (fit.misfit < 1.3 && fit.ownNtu > 3 && this.echo.peak(this.echo.kernel) * fit.echoShare < fit.ownNtu) {
      const ratio = Math.log(fit.washoutL / this.washoutL);
      this.washoutLog = Math.min(0.5, Math.max(-1, this.washoutLog + 0.15 * Math.min(1, Math.max(-1, ratio))));
    }
    // A line that rises is coming out of the dip of settled water, or into a front: it shows no background.
    if (
      this.series.get(this.series.ntu, to) >
      this.series.get(this.series.ntu, from) + 3 * this.series.get(this.series.sd, to)
    )
      return;
    // What stands over the background blurs it; a stretch that knows less than is known already teaches nothing.
    const sd = Math.hypot(fit.backgroundSd, 0.1 * fit.excessNtu);
    if (sd < this.background.sd(timeS)) this.background.learn(timeS, fit.backgroundNtu, sd);
    this.echo.learn(
      this.echo.kernels.map((k) => {
        const lesson = fitWashout(
          this.series,
          k.values,
          Math.max(this.segment, to - lessonS),
          to,
          this.prior(timeS, k),
        );
        if (!lesson) return null;
        const { echoShare, echoShareSd, evidence, misfit } = lesson;
        return { share: echoShare, shareVar: echoShareSd ** 2, evidence, misfit };
      }),
    );
  }

  private prior(timeS: number, k: Kernel = this.echo.kernel) {
    return {
      backgroundNtu: this.background.ntu,
      backgroundSd: this.background.sd(timeS),
      echoShare: k.share,
      echoShareSd: Math.sqrt(k.shareVar),
      echoPeak: this.echo.peak(k),
      washoutL: this.washoutL,
    };
  }

  private judge(timeS: number, ntu: number): void {
    const record = this.record;
    if (!record) return;
    if (this.segment < 0 && !record.pulse && this.litres - this.openL > this.transit.throughL(this.path)) {
      this.segment = this.series.length - 1;
    }
    if (this.segment < 0) {
      const state = record.pulse ? 'carrying' : 'watching';
      if (this.verdict.state !== 'clear' || record.pulse) this.say(timeS, state, this.waiting(ntu));
      return;
    }
    const to = this.series.length - 1;
    const from = this.windowStart(to);
    this.fit = fitWashout(this.series, this.echo.kernel.values, from, to, this.prior(timeS)) ?? this.fit;
    const { fit } = this;
    if (!fit) return;
    this.decide(timeS, fit);
  }

  /** A stretch just long enough to see the washout bend: what lies further back would only bring its own curves in. */
  private windowStart(to: number): number {
    const spanL = this.prior(this.nowS).washoutL * 1.5;
    const v = this.series.get(this.series.litres, to);
    let from = to;
    while (from > this.segment && to - from < windowS) {
      if (to - from >= 30 && v - this.series.get(this.series.litres, from) >= spanL) break;
      from -= 1;
    }
    return from;
  }

  /**
   * Litres times NTU still to come. The fit tells it while the tail stands out of the noise; after a small pulse the tail
   * hides there, and then the litres since the peak must vouch for it, as far as what stands now leaves room.
   */
  private restNtuL(fit: Fit, now: { readonly ntu: number; readonly sd: number }): number {
    if (!this.record || this.record.pulses.length === 0) return 0;
    const washed = Math.exp((this.peakL - this.litres) / this.washoutL);
    const hidden = Math.min(this.peakNtu * washed, Math.max(0, now.ntu) + now.sd) * this.washoutL;
    const shown = Math.max(0, now.ntu - fit.echoShare * this.echo.kernel.now) * this.washoutL;
    return Math.max(fit.restNtuL, hidden, shown);
  }

  /** What stands over the background now: the mean of the last seconds, which on a falling line errs to the high side. */
  private standing(fit: Fit): { readonly ntu: number; readonly sd: number } {
    let sum = 0;
    let variance = 0;
    let n = 0;
    for (let i = this.series.length - 1; i >= this.series.first && n < standingS; i -= 1) {
      const y = this.series.get(this.series.ntu, i);
      if (Number.isNaN(y)) continue;
      sum += y;
      variance += this.series.get(this.series.sd, i) ** 2;
      n += 1;
    }
    return { ntu: sum / n - fit.backgroundNtu, sd: Math.hypot((1.5 * Math.sqrt(variance)) / n, fit.backgroundSd) };
  }

  private decide(timeS: number, fit: Fit): void {
    const record = this.record;
    if (!record) return;
    const limit = this.limitNtu;
    const now = this.standing(fit);
    const figures = {
      excessNtu: now.ntu,
      backgroundNtu: fit.backgroundNtu,
      limitNtu: limit,
      litresSincePassL: this.litresSincePass,
      litresNeededL: this.litresNeeded,
    };
    if (this.verdict.state === 'clear') {
      if (now.ntu - 2 * now.sd > 1.2 * limit) this.say(timeS, 'settling', { code: 'risen-again', figures });
      return;
    }
    if (this.agitating || this.litresSincePass < this.litresNeeded || this.isUntoldPass(timeS)) {
      this.say(timeS, 'watching', { code: 'not-answered', figures });
      return;
    }
    if (record.passes.length === 0 && record.pulses.length === 0 && timeS - record.fromS < this.settings.noPassWaitS) {
      this.say(timeS, 'watching', { code: 'no-pass-yet', figures });
      return;
    }
    if (now.ntu + this.z * now.sd > limit) {
      this.say(timeS, 'settling', { code: 'over-limit', figures });
      return;
    }
    const rest = this.restNtuL(fit, now);
    if (this.peakExcess >= this.settings.clearNtu && rest > 0.75 * this.settings.restShare * (this.passedNtuL + rest)) {
      this.say(timeS, 'settling', { code: 'rest-to-come', figures });
      return;
    }
    if (timeS - this.blindS < this.settings.seeingS) {
      this.say(timeS, 'settling', { code: 'seeing-again', figures });
      return;
    }
    const ahead = this.echo.ahead(0.5, { share: fit.echoShare, sd: fit.echoShareSd });
    if (ahead.ntu > limit) {
      this.say(timeS, 'settling', {
        code: 'echo-to-come',
        figures: { ...figures, echoNtu: ahead.ntu, echoInL: ahead.inL },
      });
      return;
    }
    const pulse = record.pulse;
    if (pulse) pulse.endS = timeS;
    const last = record.passes.at(-1);
    const done = last !== undefined && !record.pulses.some((p) => p.saidS > last.startS);
    this.say(timeS, 'clear', { code: done ? 'done' : 'clear', figures }, done);
  }

  private waiting(ntu = Number.NaN): Reason {
    const figures: Record<string, number> = {
      litresSincePassL: this.litresSincePass,
      litresNeededL: this.litresNeeded,
    };
    if (Number.isFinite(ntu)) figures['ntu'] = ntu;
    return { code: this.agitating ? 'passing' : this.record?.pulse ? 'arriving' : 'not-answered', figures };
  }

  private say(timeS: number, state: VerdictState, reason: Reason, done = false): void {
    const { record, verdict } = this;
    const isSame = verdict.state === state && verdict.done === done;
    this.verdict = { state, done, reason, sinceS: isSame ? verdict.sinceS : timeS, confidence: null, forecast: null };
    if (!record) return;
    const open = record.clears.at(-1);
    if (state === 'clear' && (!open || open.toS !== null)) record.clears.push({ fromS: timeS, toS: null });
    else if (state !== 'clear' && open && open.toS === null) open.toS = timeS;
  }
}

/** A pulse that has not risen for this long is past its peak, however flat it stands. */
const staleS = 20;
/** Seconds whose mean is what stands now. */
const standingS = 8;
/** Longest stretch of seconds that one fit looks at. */
const windowS = 240;
/** Longest stretch that teaches the echo. */
const lessonS = 900;
/** Without a flow sensor: the slowest usual one-emitter flow, so that waiting errs to the long side. */
const slowFlowLpm = 4;

/** Acklam's rational approximation, central and tail parts (relative error < 1.2e-9). */
function normalQuantile(p: number): number {
  const q = Math.sqrt(-2 * Math.log(1 - p));
  const num = 2.515517 + q * (0.802853 + q * 0.010328);
  const den = 1 + q * (1.432788 + q * (0.189269 + q * 0.001308));
  return q - num / den;
}
