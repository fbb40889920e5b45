import { Hydraulics } from './hydraulics/hydraulics.ts';
import type { TraceSecond } from './hindsight.ts';
import type { RunContext } from './job/context.ts';
import type { RunEvent } from './job/event.ts';
import { type Circuit, LineMachine } from './line/machine.ts';
import { type LineSettings, lineSettingsSchema } from './line/settings.ts';
import type { LineFigures, Notice, Verdict, Visit } from './line/verdict.ts';
import { dueFrom } from './quantity/due.ts';
import type { Sample } from './quantity/sample.ts';
import { AtMains } from './rinse/at-mains.ts';
import { BubbleFilter } from './signal/bubbles.ts';
import { KitTold } from './signal/kit-told.ts';
import { Noise } from './signal/noise.ts';
import { type Second, SecondGatherer } from './signal/seconds.ts';
import { type Fault, Validity } from './signal/validity.ts';

/**
 * The one door to the core: live bridge, replay, audit, command line, benchmark and browser all drive this interface,
 * so a verdict is computed in one place. Samples and events are fed in time order (strictly increasing `timeS`;
 * `advance` may be called between them at any time). Everything said at time t depends on what came up to t alone:
 * deadlines that lie between two inputs are processed at their own time, whether or not `advance` was called.
 */
export interface Analysis {
  sample(sample: Sample): void;
  event(event: RunEvent): void;
  /** From now on the system is known to be so: surveyed, or its mains sampled, in the run. What was said stands. */
  know(context: RunContext): void;
  /** Let time pass without input (silence is data). */
  advance(timeS: number): void;
  /** What it judges by. */
  readonly settings: LineSettings;
  /** The verdict as it stands. */
  readonly verdict: Verdict;
  readonly figures: LineFigures;
  /** The visit under way, or null. */
  readonly visit: Visit | null;
  /** All visits so far, oldest first, the current one included. */
  readonly visits: readonly Visit[];
  readonly rinse: RinseResult | null;
  readonly notices: readonly Notice[];
}

export interface RinseResult {
  readonly clearAtS: number | null;
  readonly withheld: boolean;
  readonly verdict: Verdict;
}

export type CreateAnalysis = (context: RunContext, settings?: unknown) => Analysis;

/**
 * @param settings partial line settings (see line/settings.ts); throws a ZodError when one is unknown or out of range
 */
export const createAnalysis: CreateAnalysis = (context, settings) =>
  new RunAnalysis(context, lineSettingsSchema.parse(settings ?? {}));

/** An analysis whose seconds can be listened to, for hindsight. */
export interface TracedAnalysis extends Analysis {
  /** Beginnings of the passes of a visit, and the litres of its path as best known now. */
  passStartsS(visit: Visit): readonly number[];
  pathL(emitter: string): number;
}

/** As `createAnalysis`, and tells each closed second to `listen`. */
export function createTracedAnalysis(
  context: RunContext,
  settings: unknown,
  listen: (second: TraceSecond) => void,
): TracedAnalysis {
  const analysis = new RunAnalysis(context, lineSettingsSchema.parse(settings ?? {}));
  analysis.listener = listen;
  return analysis;
}

class RunAnalysis implements TracedAnalysis {
  listener: ((second: TraceSecond) => void) | null = null;
  private readonly line: LineMachine;
  private readonly validity: Validity;
  private readonly bubbles = new BubbleFilter();
  private readonly hydraulics: Hydraulics;
  private readonly gather = new SecondGatherer();
  /** Scatter of single readings; the line room keeps that of whole seconds. */
  private readonly readings: Noise;
  private readonly told: KitTold;
  private context: RunContext;
  readonly settings: LineSettings;
  /** End of the second that is being gathered; NaN before the first input. */
  private endS = Number.NaN;
  private lastSampleS = Number.NEGATIVE_INFINITY;
  private stage = '';
  private stageSeen = false;
  private atMains: AtMains | null = null;
  private rinseVerdict: Verdict | null = null;
  private rinseDone: RinseResult | null = null;
  /** While nobody sees: since when, and what was said then. */
  private rinseSeen: { readonly atS: number; readonly result: RinseResult | null } | null = null;
  private rateHz: number;
  private readonly noted: Notice[] = [];
  /** When a film was last seen to grow, told or not, or a full chamber. */
  private filmSeenS = Number.NEGATIVE_INFINITY;

  constructor(context: RunContext, settings: LineSettings) {
    this.context = context;
    this.settings = settings;
    this.rateHz = context.sample_hz;
    this.line = new LineMachine(circuitOf(context), settings);
    this.hydraulics = new Hydraulics(context);
    this.readings = new Noise(settings.noiseFloorNtu, settings.noiseShare, Math.max(3, 2 * context.sample_hz));
    const told = context.kit?.channels?.['turbidity'];
    this.told = new KitTold(told?.step ?? null, told?.hi ?? null);
    this.validity = new Validity(settings, this.told.stepNtu, this.told.topNtu);
  }

  know(context: RunContext): void {
    this.context = context;
    this.line.resurveyed(circuitOf(context));
    this.hydraulics.know(context);
    this.atMains?.know(context.mains);
  }

  sample(sample: Sample): void {
    // Of doubled times the first wins; what comes late has been decided without.
    if (!(sample.timeS > this.lastSampleS)) return;
    this.advance(sample.timeS);
    this.lastSampleS = sample.timeS;
    this.listen(sample);
    const isUsable = this.validity.sample(sample);
    const ntu = sample.turbidityNtu;
    if (ntu === null || !isUsable) {
      this.gather.add(sample, Number.NaN, false);
      return;
    }
    const size = this.rateHz >= 4 ? 11 : 7;
    const tolerance = 5 * this.readings.sd(Math.max(0, ntu)) + 0.1 * Math.abs(ntu);
    const { value, bubble } = this.bubbles.step(ntu, size, tolerance);
    this.readings.step(value);
    this.validity.readingSd = this.readings.sd(Math.max(0, value));
    this.gather.add(sample, value, bubble);
  }

  private listen(sample: Sample): void {
    for (const { atS, fromS, reason } of this.hydraulics.sample(sample)) {
      this.note({ atS, fromS, reason });
      if (reason.code === 'two-open') this.line.shared(reason.figures['ownShare'] ?? 1, fromS);
      if (reason.code === 'one-open') this.line.shared(1, fromS);
    }
  }

  /** Two watches look for a film on the window; what has been told and goes on, or was told as a full chamber, is not told again. */
  private note(notice: Notice): void {
    const { atS, reason } = notice;
    const isFilm = reason.code === 'window-fouling';
    if (!isFilm || atS - this.filmSeenS > filmAgainS) this.noted.push(notice);
    if (isFilm || reason.code === 'chamber-full') this.filmSeenS = atS;
  }

  advance(timeS: number): void {
    if (Number.isNaN(this.endS)) {
      this.endS = Math.floor(timeS) + 1;
      return;
    }
    this.endS = dueFrom(this.endS, timeS);
    while (timeS >= this.endS) {
      this.close(this.gather.close(this.endS));
      this.endS += 1;
    }
  }

  private close(second: Second): void {
    const fault = this.validity.fault(second.endS);
    this.validity.darkNtu = this.line.darkNtu;
    this.line.second(second, fault, {
      sd: Math.max(this.validity.readingSd, this.told.blankSdNtu),
      step: this.validity.stepNtu,
    });
    const { climb } = this.line;
    if (climb) this.note(climb);
    this.listener?.(this.line.trace);
    if (this.atMains && !this.rinseDone) this.rinseSecond(second, fault);
  }

  private rinseSecond(second: Second, fault: Fault): void {
    const { atMains } = this;
    if (!atMains) return;
    const { endS, ntu, conductivityUsCm } = second;
    const isUsable = fault === 'none' || fault === 'flow-missing';
    const { litresL } = this.line;
    const { stepNtu } = this.validity;
    // Water that stands is the water that was seen; a sensor that tells nothing may have missed other water.
    if (isUsable || fault === 'no-flow') this.rinseSeen = null;
    else {
      this.rinseSeen ??= { atS: endS, result: this.rinse };
      atMains.blind(endS);
    }
    const isThere = atMains.step({ endS, ntu, conductivityUsCm, litresL, stepNtu, isUsable });
    const figures: Record<string, number> = {
      turbidityNtu: atMains.turbidityNtu,
      turbidityLimitNtu: atMains.turbidityLimit,
      conductivityUsCm: atMains.conductivityUsCm,
      conductivityLimitUsCm: atMains.conductivityLimit,
      stepNtu,
      waitL: atMains.waitL,
      ...(fault === 'silence' ? { silentS: this.settings.silenceS } : {}),
    };
    const isBlind = !isUsable || atMains.hindrance === 'too-coarse';
    const state = isThere ? 'clear' : isBlind ? 'cannot-tell' : 'settling';
    const last = this.rinseVerdict;
    this.rinseVerdict = {
      state,
      done: false,
      reason: { code: rinseCode(isThere, atMains, fault), figures },
      sinceS: last?.state === state ? last.sinceS : endS,
      confidence: atMains.confidence,
      forecast: null,
    };
  }

  event(event: RunEvent): void {
    this.advance(event.timeS);
    this.hydraulics.event(event);
    const remark = this.told.event(event);
    if (remark) this.noted.push({ atS: event.timeS, fromS: event.timeS, reason: remark });
    this.validity.tell(this.told.stepNtu, this.told.topNtu);
    if (event.event === 'kit-hello' && this.told.isOther) this.line.otherKit(event.timeS);
    const { timeS, emitter } = event;
    if (event.event === 'note' && event.data?.['restarted'] === 1) return this.line.wasAway(timeS);
    if (event.event.startsWith('stage:')) return this.enter(event.event.slice(6), timeS);
    switch (event.event) {
      case 'emitter-open':
        if (!this.stageSeen || this.stage === 'emitters') this.line.open(timeS, emitter);
        else if (!this.rinseDone) this.atMains?.opened(this.line.litresL + pathSpare * this.line.pathL(emitter));
        return;
      case 'emitter-shut':
        return this.line.shut(timeS, emitter);
      case 'agitate-start':
        return this.line.passStart(timeS);
      case 'agitate-end':
        return this.line.passEnd(timeS);
      case 'pass-undone':
        return this.line.undoPass(timeS);
      default:
        return;
    }
  }

  private enter(stage: string, timeS: number): void {
    this.stageSeen = true;
    if (stage !== 'emitters') this.line.close(timeS);
    if (this.stage === 'rinse') this.rinseDone = this.rinseAtEnd(timeS);
    if (stage === 'rinse' && !this.rinseDone) {
      this.atMains = new AtMains(this.context.mains, this.settings);
    }
    this.stage = stage;
  }

  /** A kit that was switched off moments before the tap that ends the rinse takes nothing back. */
  private rinseAtEnd(timeS: number): RinseResult | null {
    const seen = this.rinseSeen;
    return seen && timeS - seen.atS <= this.settings.lateTapS ? seen.result : this.rinse;
  }

  passStartsS(visit: Visit): readonly number[] {
    return this.line.passStartsS(visit);
  }

  pathL(emitter: string): number {
    return this.line.pathL(emitter);
  }

  get verdict(): Verdict {
    return this.line.verdict;
  }

  /** During the rinse the level to come under is the mains', and the loop's background is what is rinsed out. */
  get figures(): LineFigures {
    const rinse = this.rinseDone ? null : this.atMains;
    if (!rinse) return this.line.figures;
    return { ...this.line.figures, backgroundNtu: null, clearLevelNtu: rinse.turbidityLimit };
  }

  get visit(): Visit | null {
    return this.line.visit;
  }

  get visits(): readonly Visit[] {
    const now = this.line.visit;
    return now ? [...this.line.closed, now] : this.line.closed;
  }

  get rinse(): RinseResult | null {
    if (this.rinseDone) return this.rinseDone;
    if (!this.atMains || !this.rinseVerdict) return null;
    const { clearAtS } = this.atMains;
    return {
      clearAtS,
      withheld: clearAtS === null && this.rinseVerdict.state === 'cannot-tell',
      verdict: this.rinseVerdict,
    };
  }

  get notices(): readonly Notice[] {
    return this.noted;
  }
}

/** Litres by the survey; an emitter that it does not name is as the others are. */
function circuitOf(context: RunContext): Circuit {
  const byId = new Map(context.emitters.map((e) => [e.id, e]));
  const meanL = context.emitters.reduce((sum, e) => sum + e.volume_l, 0) / Math.max(1, context.emitters.length);
  return {
    loopL: context.loop_volume_l,
    systemL: context.loop_volume_l + context.emitters.reduce((sum, e) => sum + e.volume_l, 0),
    emitter(id) {
      const e = byId.get(id);
      return {
        pathL: e?.path_l ?? context.return_volume_l,
        isOwnPath: e?.path_l !== undefined,
        emitterL: e?.volume_l ?? (meanL > 0 ? meanL : 5),
      };
    },
  };
}

/** A film is told again when none was seen to grow for so long, s. */
const filmAgainS = 900;
/** Litres of a path are estimates, 10 to 20 % off: two standard deviations of it. */
const pathSpare = 1.3;

function rinseCode(isThere: boolean, { hasConductivity, hindrance }: AtMains, fault: Fault): string {
  if (isThere) return hasConductivity ? 'rinse-at-mains' : 'rinse-turbidity-only';
  if (fault === 'none' || fault === 'flow-missing') return `rinse-${hindrance}`;
  return fault === 'no-flow' ? 'rinse-mains-lost' : fault;
}
