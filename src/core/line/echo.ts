import { decay } from '../quantity/decay.ts';
import type { Series } from '../signal/series.ts';

/**
 * The echo: a share of what reaches the rig passes its chambers and comes round again one loop later, smeared by the
 * chambers, the pipes and the emitter that it flows through. K(v) is the excess of one loop ago with that smear; share x K(v) is the
 * echo. Loop litres are an estimate, so a bank of loops is kept, each with what it has shown so far.
 */
const loopRatios = [0.71, 0.77, 0.84, 0.92, 1, 1.09, 1.19, 1.3, 1.42];
/** Parts of the loop's litres that smear rather than only delay: the chambers, the pipes, and at most the emitter on the way. */
const chamberShare = 0.15;
const pipeShare = 0.15;
const emitterShareMost = 0.45;

/** Standard deviation of the share once a sensor after the chambers shows what passes. */
const outSd = 0.15;

/** How likely the loop is so many times the surveyed one (log): litres are 10 to 20 % off. */
function priorMerit(ratio: number): number {
  const sds = Math.log(ratio) / 0.15;
  return -0.5 * sds * sds;
}

/** What a loop has of the dirt on its way, NTU of the source: each stage a stirred volume. */
interface Way {
  loopL: number;
  afterChambers: number;
  afterPipes: number;
  /** Behind the emitter, at the sensor. */
  now: number;
}

export interface Kernel extends Way {
  /** K at its last crest; while it rises, now. */
  crest: number;
  /** K(v) second by second, in the series' rings. */
  readonly values: Float64Array;
  /** What earlier stretches taught of the share, and how well this loop explained them (log). */
  share: number;
  shareVar: number;
  merit: number;
}

export class Echo {
  readonly kernels: Kernel[];
  private readonly series: Series;
  private lastL = 0;
  private emitterL = 0;
  private readonly shareStart: number;
  private readonly sdStart: number;
  private readonly out = new OutChannel();
  private best: Kernel;

  constructor(series: Series, loopL: number, share: number, shareSd: number) {
    this.series = series;
    this.shareStart = share;
    this.sdStart = shareSd;
    this.kernels = loopRatios.map((ratio) => ({
      loopL: ratio * loopL,
      values: new Float64Array(series.size),
      now: 0,
      crest: 0,
      afterChambers: 0,
      afterPipes: 0,
      share,
      shareVar: shareSd * shareSd,
      merit: priorMerit(ratio),
    }));
    this.best = this.kernels[4] ?? fail();
  }

  /** The loop's litres are known to be others: what was learned of the echo was of other loops. */
  resurvey(loopL: number): void {
    for (const [i, k] of this.kernels.entries()) {
      const ratio = loopRatios[i] ?? 1;
      if (k.loopL === ratio * loopL) return;
      k.loopL = ratio * loopL;
      k.merit = priorMerit(ratio);
      k.share = this.out.isKnown ? 1 : this.shareStart;
      k.shareVar = (this.out.isKnown ? outSd : this.sdStart) ** 2;
    }
    this.best = this.kernels[4] ?? fail();
  }

  get kernel(): Kernel {
    return this.best;
  }

  /** What is thought of the share before anything was learned, vaguely. */
  get vague(): { readonly echoShare: number; readonly echoShareSd: number } {
    return this.out.isKnown
      ? { echoShare: 1, echoShareSd: 0.4 }
      : { echoShare: this.shareStart, echoShareSd: 2 * this.sdStart };
  }

  /**
   * After `series.push`: carry every kernel on to the second just pushed.
   * @param emitterL stirred litres of the open emitter
   * @param outNtu turbidity after the chambers, NaN where there is no such sensor; it shows what passes them, so that the
   *   share need not be learned
   * @param backgroundNtu of the return
   */
  step(emitterL: number, outNtu: number, backgroundNtu: number): void {
    const { series } = this;
    const i = series.length - 1;
    const wasKnown = this.out.isKnown;
    const passed = this.out.step(outNtu, backgroundNtu, series.get(series.ntu, i));
    series.source[series.at(i)] = passed ?? series.get(series.excess, i);
    if (this.out.isKnown && !wasKnown) this.settle();
    const v = series.get(series.litres, i);
    const dv = v - this.lastL;
    this.lastL = v;
    this.emitterL = emitterL;
    for (const k of this.kernels) {
      if (dv > 0) {
        const flow = this.flow(k.loopL, dv);
        const was = k.now;
        carry(k, flow, this.source(v - flow.delayL));
        if (k.now >= was) k.crest = k.now;
      }
      k.values[series.at(i)] = k.now;
    }
  }

  /** The second channel has shown what passes: from here on the share is near one. */
  private settle(): void {
    for (const k of this.kernels) {
      k.share = 1;
      k.shareVar = outSd * outSd;
    }
  }

  /** What `dv` litres do to a way. */
  private flow(loopL: number, dv: number): Flow {
    const chamberL = chamberShare * loopL;
    const pipeL = pipeShare * loopL;
    const emitterL = Math.min(this.emitterL, emitterShareMost * loopL);
    return {
      delayL: loopL - chamberL - pipeL - emitterL,
      // What a sensor after the chambers sees has been smeared by them already.
      chambers: this.out.isKnown ? 1 : stirred(dv, chamberL),
      pipes: stirred(dv, pipeL),
      emitter: stirred(dv, emitterL),
    };
  }

  private source(litres: number): number {
    const i = this.series.byLitres(litres);
    return i < 0 ? 0 : this.series.get(this.series.source, i);
  }

  /**
   * The largest echo that what is in the loop now may still bring, and litres until then: over every loop that is still
   * likely, each with its own share and `sds` standard deviations on top. `fitted`: share that the best loop shows now; `shownNtu`:
   * what stands over the background now, at most. A crest that ought to have come is held to that.
   */
  ahead(
    sds: number,
    fitted: { readonly share: number; readonly sd: number },
    shownNtu: number,
  ): { readonly ntu: number; readonly inL: number } {
    let ntu = 0;
    let inL = 0;
    for (const k of this.kernels) {
      if (k.merit < likelyMerit) continue;
      const isBest = k === this.best;
      // The stretch at hand may not have seen the echo yet: it can raise what is known, not lower it.
      const known = k.share + sds * Math.sqrt(k.shareVar);
      const share = isBest ? Math.max(known, fitted.share + sds * fitted.sd) : known;
      const peak = this.peakAhead(k);
      const isPast = peak.inL <= k.loopL / aheadSteps && k.now < crestPast * k.crest;
      const crest = isPast ? Math.min(share * peak.value, crestRoom * shownNtu) : share * peak.value;
      if (crest <= ntu) continue;
      ntu = crest;
      inL = peak.inL;
    }
    return { ntu, inL };
  }

  /**
   * Least K that comes within so many of the best loop's litres from now: `ahead` of them, or `aheadOut` where a sensor after the
   * chambers shows how much they let through. Then it is known what becomes of K itself: `share` of it is the echo that stands at
   * the sensor, and of that the chambers let as much through once more as of all before.
   */
  leastAhead(ahead: number, aheadOut: number, share: number): number {
    const { lastL, out } = this;
    const k = wayOf(this.best);
    const dv = k.loopL / aheadSteps;
    const flow = this.flow(k.loopL, dv);
    const steps = (out.isKnown ? aheadOut : ahead) * aheadSteps;
    const again: number[] = [];
    let least = k.now;
    for (let i = 1; i <= steps; i += 1) {
      const at = i * dv - flow.delayL;
      carry(k, flow, again[Math.floor(at / dv)] ?? this.source(lastL + at));
      if (k.now < least) least = k.now;
      if (out.isKnown) again[i] = out.passes * share * k.now;
    }
    return least;
  }

  private peakAhead(kernel: Kernel): { readonly value: number; readonly inL: number } {
    const k = wayOf(kernel);
    const dv = k.loopL / aheadSteps;
    const flow = this.flow(k.loopL, dv);
    let value = 0;
    let inL = 0;
    for (let i = 1; i <= aheadSteps; i += 1) {
      carry(k, flow, this.source(this.lastL + i * dv - flow.delayL));
      if (k.now > value) {
        value = k.now;
        inL = i * dv;
      }
    }
    return { value, inL };
  }

  /** The largest K that stands now, over the loops that are likely. */
  get ceiling(): number {
    let most = 0;
    for (const k of this.kernels) if (k.merit >= likelyMerit && k.now > most) most = k.now;
    return most;
  }

  /** Largest K of the last loop and of the next. */
  peak(k: Kernel): number {
    let top = 0;
    for (let i = this.series.length - 1; i >= this.series.first; i -= 4) {
      if (this.lastL - this.series.get(this.series.litres, i) > 1.5 * k.loopL) break;
      const e = this.series.get(this.series.source, i);
      if (e > top) top = e;
    }
    return 0.6 * top;
  }

  /** Take in what a stretch taught each kernel: share, its variance, and the evidence for the loop. */
  learn(lessons: readonly (Lesson | null)[]): void {
    let best = Number.NEGATIVE_INFINITY;
    let least = Number.POSITIVE_INFINITY;
    let most = 0;
    for (const lesson of lessons) {
      if (!lesson) return;
      if (lesson.evidence > best) best = lesson.evidence;
      least = Math.min(least, lesson.misfit);
      most = Math.max(most, lesson.misfit);
    }
    // Where no loop explains the stretch, and none much better than the others, it was no washout with an echo.
    if (least > plainMisfit && least > muchBetter * most) return;
    // The shape of K is an approximation: evidence counts in units of what the best loop leaves unexplained.
    const unit = Math.max(1, least * least);
    let top = Number.NEGATIVE_INFINITY;
    this.kernels.forEach((k, i) => {
      const lesson = lessons[i];
      if (!lesson) return;
      if (lesson.misfit < plainMisfit * Math.max(1, least)) {
        const variance = lesson.shareVar + lessonSd * lessonSd;
        const gain = k.shareVar / (k.shareVar + variance);
        k.share = Math.min(this.out.isKnown ? 1.3 : 0.9, Math.max(0, k.share + gain * (lesson.share - k.share)));
        // Chambers load and sludge differs from emitter to emitter: what was learned fades a little each time.
        k.shareVar = (1 - gain) * k.shareVar + fadeSd * fadeSd;
      }
      k.merit = Math.max(worstMerit, k.merit + 0.3 * Math.max(-30, (lesson.evidence - best) / unit));
      if (k.merit > top) top = k.merit;
    });
    for (const k of this.kernels) {
      k.merit -= top;
      if (k.merit === 0) this.best = k;
    }
  }
}

/** Pure delay, litres, and of each stirred volume the share that is exchanged. */
interface Flow {
  readonly delayL: number;
  readonly chambers: number;
  readonly pipes: number;
  readonly emitter: number;
}

function wayOf({ loopL, afterChambers, afterPipes, now }: Way): Way {
  return { loopL, afterChambers, afterPipes, now };
}

/** Carry a way on by the litres of `flow`; `source`: what went into the chambers one delay ago. */
function carry(k: Way, { chambers, pipes, emitter }: Flow, source: number): void {
  k.afterChambers += chambers * (source - k.afterChambers);
  k.afterPipes += pipes * (k.afterChambers - k.afterPipes);
  k.now += emitter * (k.afterPipes - k.now);
}

/** Share of a stirred volume that `dv` litres exchange. */
function stirred(dv: number, volumeL: number): number {
  return volumeL > 0 ? 1 - decay(dv / volumeL) : 1;
}

/** Turbidity after the chambers: its own level in quiet water, and what stands over it. */
class OutChannel {
  private ratio = Number.NaN;
  private seen = 0;
  /** Sums of what came to the chambers and of what passed them, over the background; the old fades. */
  private came = 0;
  private passed = 0;

  /** The channel is there and its quiet level is known. */
  get isKnown(): boolean {
    return this.seen >= 30;
  }

  /** Share of the dirt that passes the chambers; all of it until enough was seen. */
  get passes(): number {
    return this.came > enoughCame ? Math.min(1, this.passed / this.came) : 1;
  }

  /** What passes the chambers now, over their quiet level; null without the channel. */
  step(outNtu: number, backgroundNtu: number, ntu: number): number | null {
    if (Number.isNaN(outNtu)) return this.isKnown ? 0 : null;
    // Quiet water: the return stands at its background.
    if (backgroundNtu > 0.5 && Math.abs(ntu - backgroundNtu) < 0.1 * backgroundNtu + 1) {
      const r = Math.min(1.5, outNtu / backgroundNtu);
      this.ratio = Number.isNaN(this.ratio) ? r : this.ratio + 0.02 * (r - this.ratio);
      this.seen += 1;
    }
    if (!this.isKnown) return null;
    const passed = Math.max(0, outNtu - this.ratio * backgroundNtu);
    if (ntu - backgroundNtu > leastCame) {
      this.came = passesFade * this.came + ntu - backgroundNtu;
      this.passed = passesFade * this.passed + passed;
    }
    return passed;
  }
}

/** NTU over the background that tell what passes, NTU seconds of them that are enough, and what a second leaves of the old. */
const leastCame = 5;
const enoughCame = 100;
const passesFade = 0.998;

/** What a stretch taught of one loop. */
export interface Lesson {
  readonly share: number;
  readonly shareVar: number;
  readonly evidence: number;
  readonly misfit: number;
}

/** What one stretch can teach of the share at best, and how much it may change from one to the next. */
const lessonSd = 0.08;
const fadeSd = 0.04;
/** Root mean square residual, in units of its expected scatter, up to which a fit counts as plain. */
const plainMisfit = 1.7;
/** Where nothing fits plainly, a loop that leaves so much less unexplained than the worst has shown itself all the same.
 * Chosen on simulated runs, no source. */
const muchBetter = 0.65;
/** Once K has fallen to this share of its crest, the echo's own is taken to have come; it may be a little late: so many times what
 * stands now it may still come to. Chosen on simulated runs, no source. */
const crestPast = 0.7;
const crestRoom = 1.5;
/** Steps in which a loop ahead is reckoned. */
const aheadSteps = 30;
/** Loops whose merit (log) is above this are waited for. */
const likelyMerit = -1.5;
/** No loop is ever beyond recall. */
const worstMerit = -15;

function fail(): never {
  throw new Error('The bank of loops is empty.');
}
