import { fallSpread, Transit, type TransitInput } from '../circuit/transit.ts';
import { Noise } from '../signal/noise.ts';
import type { Second } from '../signal/seconds.ts';
import { Series } from '../signal/series.ts';
import { Background } from './background.ts';
import { Echo, type Kernel } from './echo.ts';
import { lowStand } from './level.ts';
import { OwnLitres } from './own-litres.ts';
import { ReckonedFlow } from './reckoned-flow.ts';
import type { LineSettings } from './settings.ts';
import { standstill } from './standstill.ts';
import { type Fit, type FitPrior, fitWashout } from './washout.ts';

/** Litres of the loop through one emitter, and of all the water of system and rig. */
export interface Waters {
  readonly loopL: number;
  readonly systemL: number;
}

/**
 * What a run knows of the water that goes round: the readings of the last hour against the litres that flowed, their
 * scatter, the background, the echo, how far each emitter is away and how fast it washes out. It is carried from visit to
 * visit; what a stretch of readings teaches is taken in when the stretch ends.
 */
export class Loop {
  readonly series = new Series();
  readonly background: Background;
  readonly echo: Echo;
  readonly transit = new Transit();
  litres = 0;
  hasFlow = false;
  /** The emitter that is open, null between visits. */
  path: TransitInput | null = null;
  fit: Fit | null = null;
  /** First and last second of the stretch that it is of. */
  private fitted = { stretch: -1, to: -1 };
  /** First second of the stretch under way, in the series; -1 while a pulse rises or nothing can be read. */
  stretch = -1;
  /** First second of the stretch that will teach the echo: it runs on through fronts that no pass explains, one may be the echo. */
  private echoStretch = -1;
  /** What litres are reckoned with while no flow sensor has told. */
  readonly reckoned: ReckonedFlow;
  private systemL: number;
  private readonly noise: Noise;
  readonly settings: LineSettings;
  /** Logarithm of washout litres over the surveyed ones. */
  private washoutLog = washoutStart;
  /** What of the flow comes from the emitter that is worked on. */
  readonly own = new OwnLitres();
  private beganAt = 0;
  /** The last peak of this visit: its excess, NTU, and litres; before the first, the opening. */
  peak = { ntu: 0, litres: 0 };

  constructor({ loopL, systemL }: Waters, settings: LineSettings) {
    this.systemL = systemL;
    this.settings = settings;
    this.reckoned = new ReckonedFlow(settings.reckonedLpm);
    this.noise = new Noise(settings.noiseFloorNtu, settings.noiseShare, noiseLagS);
    this.background = new Background(settings);
    this.echo = new Echo(this.series, loopL, settings.echoShare, settings.echoShareSd);
  }

  /** The litres are known to be others. */
  resurvey({ loopL, systemL }: Waters): void {
    this.systemL = systemL;
    this.echo.resurvey(loopL);
  }

  /**
   * A front came `litres` after its pass began, known to `sdL`. With a flow sensor that tells how far the emitter is;
   * without one, how fast the water goes.
   */
  learnTransit(litres: number, sdL: number, path: TransitInput): void {
    if (this.hasFlow) this.transit.learn(litres, sdL, path);
    else this.reckoned.learn(litres, sdL, this.transit.pipeL(path), this.transit.sdShare(path));
  }

  /** The water of the open emitter was seen to have gone by `litres` after a pass ended, known to `sdL`: as `learnTransit`. */
  learnThrough(litres: number, sdL: number, path: TransitInput): void {
    if (this.hasFlow) this.transit.learnThrough(litres, sdL, path);
    else
      this.reckoned.learn(
        litres,
        Math.hypot(sdL, fallSpread * litres),
        this.transit.throughL(path),
        this.transit.sdShare(path),
      );
  }

  /** Another emitter was opened. */
  begin(path: TransitInput): void {
    this.reckoned.begin();
    this.own.begin();
    this.background.visited();
    this.path = path;
    this.fit = null;
    this.stretch = this.echoStretch = -1;
    this.beganAt = this.series.length;
    this.peak = { ntu: 0, litres: this.litres };
  }

  /** A pulse stands at its highest so far, `ntu` over the background: what it set free may go on giving slowly from here. */
  peaked(ntu: number): void {
    this.peak = { ntu, litres: this.litres };
  }

  end(): void {
    this.path = null;
    this.stretch = this.echoStretch = -1;
  }

  /** Take in one second; `ntu` NaN where it must not be used. Returns its scatter and how far it stands over the background. */
  push(
    second: Second,
    ntu: number,
    stepNtu: number,
  ): { readonly sd: number; readonly excess: number; readonly litres: number } {
    const before = this.litres;
    this.flow(second);
    this.background.to(second.endS);
    const isSeen = Number.isFinite(ntu);
    this.noise.step(ntu);
    const sd = Math.hypot(this.noise.sd(isSeen ? Math.max(0, ntu) : 0), 0.3 * stepNtu);
    const excess = isSeen && this.background.known ? Math.max(0, ntu - this.level) : Number.NaN;
    this.series.push(second.endS, this.litres, ntu, sd, Number.isNaN(excess) ? this.lastExcess() : excess);
    this.echo.step(this.path ? this.path.emitterL * this.path.fill : 0, second.outNtu, this.background.ntu);
    return { sd, excess: Number.isNaN(excess) ? 0 : excess, litres: this.litres - before };
  }

  private flow(second: Second): void {
    if (Number.isFinite(second.flowLpm)) {
      this.hasFlow = true;
      this.litres += second.flowLpm / 60;
    } else if (!this.hasFlow) this.litres += this.reckoned.lpm / 60;
  }

  private lastExcess(): number {
    const n = this.series.length;
    return n > 0 ? this.series.get(this.series.excess, n - 1) : 0;
  }

  /** A reading before the first visit. */
  idle(timeS: number, ntu: number): void {
    this.background.idle(timeS, ntu, Math.max(0, 1 - this.litres / this.systemL));
  }

  /** The second taken in last. */
  newest(): { endS: number; ntu: number; litres: number; backgroundNtu: number; sd: number } {
    const { series } = this;
    const i = series.length - 1;
    return {
      endS: series.get(series.t, i),
      ntu: series.get(series.ntu, i),
      litres: this.litres,
      backgroundNtu: this.level,
      sd: series.get(series.sd, i),
    };
  }

  /** The background as best known now, NTU. */
  get level(): number {
    return this.fit ? this.fit.backgroundNtu : this.background.ntu;
  }

  /** The level to which the return settles, as best known now, NTU: what has evened out of the echo is part of it. */
  get settledNtu(): number {
    return this.fit ? this.fit.settledNtu : this.background.ntu;
  }

  /** Scatter of a second in quiet water, NTU. */
  get quietSd(): number {
    return this.noise.sd(Math.max(0, this.background.ntu));
  }

  /** Litres over which the open emitter's dirt washes out: what it holds, and some of the pipe; learned from the tails seen. When it has only part of the flow, more must flow by. */
  get washoutL(): number {
    const { path } = this;
    const surveyed = path ? path.emitterL * path.fill + pipeWashout * path.pathL : 1;
    return Math.max(0.3, surveyed * Math.exp(this.washoutLog)) / this.own.share;
  }

  /** Index of the last second that had ended by then. */
  indexAt(timeS: number): number {
    const { series } = this;
    let i = series.length - 1;
    while (i > series.first && series.get(series.t, i) > timeS) i -= 1;
    return i;
  }

  litresAt(timeS: number): number {
    return this.series.length > 0 ? this.series.get(this.series.litres, this.indexAt(timeS)) : this.litres;
  }

  /** When so many litres had flowed, run-clock seconds; the oldest second that is known where it was before. */
  timeAt(litres: number): number {
    const { series } = this;
    return series.get(series.t, Math.max(series.first, series.byLitres(litres)));
  }

  /** Litres per second of the last seconds. */
  get litresPerS(): number {
    const last = this.series.length - 1;
    if (last < 1) return 0;
    const from = Math.max(this.series.first, last - 10);
    const span = this.series.get(this.series.t, last) - this.series.get(this.series.t, from);
    return span > 0 ? (this.litres - this.series.get(this.series.litres, from)) / span : 0;
  }

  /**
   * Split what stands now into background, washout and echo; null while there is no stretch to look at. `answeredL`: litres of
   * the loop at which the last pass's water had gone by. A fit of this stretch that is not yet `everyS` seconds old is as good.
   */
  refit(answeredL: number, everyS: number): Fit | null {
    if (this.stretch < 0) return null;
    if (this.echoStretch < 0) this.echoStretch = this.stretch;
    const to = this.series.length - 1;
    if (this.fit && this.fitted.stretch === this.stretch && to - this.fitted.to < everyS) return this.fit;
    const found = fitWashout(
      this.series,
      this.echo.kernel.values,
      this.windowStart(to),
      to,
      this.prior(),
      this.evenEcho(answeredL),
    );
    if (found) {
      this.fit = found;
      this.fitted = { stretch: this.stretch, to };
    }
    return this.fit;
  }

  /**
   * Of K, what has evened out: the least of it since the last pass's water went by, and in most of the loop ahead. An echo that
   * stands still goes round for longer than any visit; no waiting clears it, and no shaking adds to it.
   */
  private evenEcho(answeredL: number): number {
    const { series, echo, settings } = this;
    const { kernel } = echo;
    const share = this.fit?.echoShare ?? kernel.share;
    let least = Math.min(kernel.now, echo.leastAhead(settings.evenAhead, settings.evenAheadOut, share));
    for (let i = series.length - 1; i >= series.first && series.get(series.litres, i) >= answeredL; i -= 1)
      least = Math.min(least, series.get(kernel.values, i));
    return least;
  }

  /** The background lies under whatever the line has stood at for a while. */
  learnLow(timeS: number): void {
    const { series, background, settings } = this;
    const low = lowStand(series, this.beganAt, settings.lowS);
    if (low && low.ntu < background.ntu - lowSds * background.sd)
      background.learn(timeS, low.ntu, Math.max(low.sd, lowSds * background.sd));
  }

  /** A stretch just long enough to see the washout bend: what lies further back would only bring its own curves in. */
  private windowStart(to: number): number {
    const spanL = 1.5 * this.washoutL;
    const v = this.series.get(this.series.litres, to);
    let from = to;
    while (from > this.stretch && to - from < windowS) {
      if (to - from >= leastWindowS && v - this.series.get(this.series.litres, from) >= spanL) break;
      from -= 1;
    }
    return from;
  }

  private prior(k: Kernel = this.echo.kernel): FitPrior {
    return {
      backgroundNtu: this.background.ntu,
      backgroundSd: this.background.sd,
      echoShare: k.share,
      echoShareSd: Math.sqrt(k.shareVar),
      echoPeak: this.echo.peak(k),
      washoutL: this.washoutL,
      slowSd: Math.max(leastSlowNtu, slowShare * this.peak.ntu),
      peakL: this.peak.litres,
    };
  }

  /**
   * The stretch ends at `timeS`: what it taught of background and washout is kept, and of the echo, too, when a pass's own
   * front (or the shutting) ends it.
   */
  learn(timeS: number, endsEcho: boolean): void {
    // The last seconds before a front is declared belong to it already, and a slow foot of it to no level.
    const end = this.indexAt(timeS);
    if (this.stretch >= 0) this.learnLevel(timeS, end - footS);
    if (!endsEcho) return;
    const to = end - 2;
    if (this.echoStretch >= 0 && to - this.echoStretch >= leastLessonS) this.learnEcho(to);
    this.echoStretch = -1;
  }

  private learnLevel(timeS: number, to: number): void {
    const from = this.windowStart(to);
    if (to - from < leastLessonS) return;
    const fit = fitWashout(this.series, this.echo.kernel.values, from, to, this.prior());
    if (!fit) return;
    this.learnWashout(fit);
    const { series } = this;
    // A line that rises is coming out of the dip of settled water, or into a front: it shows no background.
    if (series.get(series.ntu, to) > series.get(series.ntu, from) + 3 * series.get(series.sd, to)) return;
    // What stands over the background blurs it; a stretch that knows less than is known already teaches nothing.
    const sd = Math.hypot(fit.backgroundSd, lessonDoubt * fit.excessNtu);
    if (sd < this.background.sd) this.background.learn(timeS, fit.backgroundNtu + lessonBias * sd, sd);
  }

  private learnWashout(fit: Fit): void {
    const isPlain = fit.misfit < 1.3 && fit.ownNtu > 3;
    if (!isPlain || this.echo.peak(this.echo.kernel) * fit.echoShare > fit.ownNtu) return;
    const ratio = Math.min(1, Math.max(-1, Math.log(fit.washoutL / this.washoutL)));
    this.washoutLog = Math.min(0.5, Math.max(-1, this.washoutLog + 0.15 * ratio));
  }

  private learnEcho(to: number): void {
    const from = Math.max(this.echoStretch, to - echoLessonS);
    this.echo.learn(
      this.echo.kernels.map((k) => {
        // A vague prior: each lesson speaks for itself and is pooled with the others afterwards.
        const prior = { ...this.prior(k), ...this.echo.vague };
        const lesson = fitWashout(this.series, k.values, from, to, prior);
        if (!lesson) return null;
        const { echoShare, echoShareSd, evidence, misfit } = lesson;
        return { share: echoShare, shareVar: echoShareSd ** 2, evidence, misfit };
      }),
    );
  }

  /**
   * What stands still above (or below) the background for longer than any release could is the background now: a window
   * fouls, chambers load. Returns whether it was moved.
   */
  rebase(timeS: number): boolean {
    if (!this.path || timeS % rebaseEveryS !== 0) return false;
    // An echo can stand still for most of a loop; without one, a few washouts decide.
    const k = this.echo.kernel;
    const echoes = (k.share + Math.sqrt(k.shareVar)) * this.echo.peak(k) > this.settings.clearNtu;
    const spanL = Math.max(4 * this.washoutL, echoes ? 1.2 * k.loopL : 0);
    const still = standstill(this.series, this.beganAt, spanL, this.settings.rebaseS);
    if (!still) return false;
    const excess = still.ntu - this.background.ntu;
    if (Math.abs(excess) < 2 * this.background.sd) return false;
    // What the loop may still bring round is no background, however long it stands.
    if (excess > 0 && excess < Math.min(mostEcho, k.share + 2 * Math.sqrt(k.shareVar)) * this.echo.ceiling)
      return false;
    if (excess > 0 && still.changeNtu - 2 * still.changeSd < -this.settings.rebaseShare * excess) return false;
    // What stands still higher than was thought may be an echo that evens out as well.
    const doubt = excess > 0 ? rebaseDoubt * excess : 0;
    this.background.learn(timeS, still.ntu, Math.hypot(still.sd, 0.05 * still.changeNtu, doubt));
    this.stretch = this.series.length - 15;
    return true;
  }
}

/** Readings this many seconds apart share no eddy. */
const noiseLagS = 4;
/** Tails seen so far say: a little less than the surveyed litres. */
const washoutStart = -0.2;
/** Part of the pipe's litres that smears a pulse on its way. */
const pipeWashout = 0.2;
/** Longest and shortest stretch of seconds that one fit looks at. */
const windowS = 240;
const leastWindowS = 30;
/** Shortest stretch that teaches anything, and longest that teaches the echo. */
const leastLessonS = 20;
const echoLessonS = 900;
const rebaseEveryS = 5;
/** A lesson on the background is doubted by this part of what still stood over it, and a raised one by this part of the rise:
 * chosen on simulated runs, no source. */
const lessonDoubt = 0.5;
const rebaseDoubt = 0.6;
/** A lesson lies low by so many of its standard deviations: the fit leaves room for slow washouts that are not there. Chosen on
 * simulated runs, no source. */
const lessonBias = 0.5;
/** How much of a peak may be set free slowly (standard deviation of the share), and least of it, NTU. Chosen on simulated
 * runs, no source. */
const slowShare = 0.05;
const leastSlowNtu = 1;
/** Seconds before a front in which it may have begun to rise already. */
const footS = 6;
/** So far under the background, in standard deviations, a low is news, and so much of the doubt is left then: what was low may
 * still be an echo. Chosen on simulated runs, no source. */
const lowSds = 0.5;
/** No chamber passes more than this share of what reaches it. */
const mostEcho = 0.7;
