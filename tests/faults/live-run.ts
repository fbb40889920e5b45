import { createAnalysis } from '../../src/core/analyse.ts';
import type { RunContext } from '../../src/core/job/context.ts';
import type { RunEvent } from '../../src/core/job/event.ts';
import { Calibration } from '../../src/run/calibration.ts';
import { Run } from '../../src/run/run.ts';
import type { TimedChunk } from '../../simulators/line/faults.ts';
import { SteppedClock } from '../src/run/stepped-clock.ts';
import { MemoryRecord } from './memory-record.ts';

/** Something that happens to the bridge at a moment of the run. */
export type BridgeHappening =
  /** The power goes, and comes back: what was not written is gone, taps wait so long more on the tablet. */
  | { readonly kind: 'killed'; readonly atS: number; readonly forS: number; readonly tapsWaitS: number }
  /** The machine sleeps: its monotonic clock stands still, what came meanwhile is lost. */
  | { readonly kind: 'asleep'; readonly atS: number; readonly forS: number }
  /** The process stands still; bytes and taps wait. */
  | { readonly kind: 'stalled'; readonly atS: number; readonly forS: number }
  /** Somebody sets the wall clock. */
  | { readonly kind: 'wall'; readonly atS: number; readonly byS: number };

/** A span in which clear was shown, in the time of the truth. */
export interface Shown {
  readonly emitter: string;
  readonly visit: number;
  readonly fromS: number;
  toS: number;
}

export interface Live {
  readonly clears: readonly Shown[];
  /** When the rinse was shown to be at the mains' level; null: never. */
  readonly rinseS: number | null;
  /** What should never happen. */
  readonly faults: readonly unknown[];
  readonly record: MemoryRecord;
}

/** What is shown is looked at this often. */
const lookS = 0.5;

/** Stepped time with a wall clock that somebody sets. */
export class SettableClock extends SteppedClock {
  setByS = 0;
  override wallMs(): number {
    return super.wallMs() + this.setByS * 1000;
  }

  setTo(wallMs: number): void {
    this.setByS += (wallMs - this.wallMs()) / 1000;
  }
}

/**
 * A whole run through the live path: bytes, clock, ingest and verdict, as `limpid start` joins them, on stepped time. All
 * times are the truth's; the bridge knows its own clock only.
 */
export class LiveRun {
  readonly #clears: Shown[] = [];
  readonly #faults: unknown[] = [];
  readonly #record: MemoryRecord;
  #rinseS: number | null = null;
  #clock = new SettableClock();
  #run: Run;
  /** When the clock of the bridge stood at 0. */
  #zeroS = 0;
  #nowS = 0;
  /** Until then nothing is heard; until then taps wait; until then the process stands still. */
  #deafToS = Number.NEGATIVE_INFINITY;
  #tapsToS = Number.NEGATIVE_INFINITY;
  #stillToS = Number.NEGATIVE_INFINITY;
  readonly #waiting: { readonly isTap: boolean; readonly act: () => void }[] = [];

  constructor(context: RunContext) {
    const head = { runId: 'r1', title: 'T', simulated: true, startedAt: '2026-01-02T03:04:05Z', context };
    this.#record = new MemoryRecord(head);
    this.#run = this.#begin();
  }

  #begin(): Run {
    const fault = (error: unknown): void => void this.#faults.push(error);
    const store = this.#record;
    const clock = this.#clock;
    const calibration = new Calibration({ certificates: () => [] });
    const run = new Run({ store, clock, createAnalysis, calibration, source: 'a test', fault });
    run.transportState({ kind: 'open' });
    return run;
  }

  /** @param lines what the kit sends, by the time at which it arrives. */
  play(
    lines: readonly TimedChunk[],
    taps: readonly RunEvent[],
    happenings: readonly BridgeHappening[],
    toS: number,
  ): Live {
    const acts = [
      ...taps.map((tap) => ({ atS: tap.timeS, act: () => this.#tap(tap) })),
      ...lines.map(({ atS, bytes }) => ({ atS, act: () => this.#bytes(bytes) })),
      ...happenings.map((h) => ({ atS: h.atS, act: () => this.#happen(h) })),
    ].sort((a, b) => a.atS - b.atS);
    for (const { atS, act } of acts) {
      this.#goTo(atS);
      act();
      this.#look();
    }
    this.#goTo(toS);
    this.#run.stop();
    return { clears: this.#clears, rinseS: this.#rinseS, faults: this.#faults, record: this.#record };
  }

  #goTo(atS: number): void {
    while (atS - this.#nowS > lookS) this.#stepTo(this.#nowS + lookS);
    this.#stepTo(atS);
  }

  #stepTo(atS: number): void {
    this.#nowS = atS;
    if (atS < this.#stillToS) return;
    const bridgeS = atS - this.#zeroS;
    if (this.#stillToS > Number.NEGATIVE_INFINITY) {
      this.#clock.stall(bridgeS - this.#clock.nowS());
      this.#stillToS = Number.NEGATIVE_INFINITY;
    }
    if (bridgeS > this.#clock.nowS()) this.#clock.run(bridgeS - this.#clock.nowS());
    if (atS >= this.#tapsToS) for (const { act } of this.#waiting.splice(0)) act();
    this.#look();
  }

  #bytes(bytes: Uint8Array): void {
    const act = (): void => this.#run.bytes(bytes, this.#clock.nowS());
    if (this.#nowS < this.#deafToS) return;
    if (this.#nowS < this.#stillToS) this.#waiting.push({ isTap: false, act });
    else act();
  }

  #tap(tap: RunEvent): void {
    const act = (): void => this.#run.replayed(tap, this.#clock.nowS());
    if (this.#nowS < Math.max(this.#tapsToS, this.#stillToS)) this.#waiting.push({ isTap: true, act });
    else act();
  }

  #happen(h: BridgeHappening): void {
    if (h.kind === 'wall') this.#clock.setByS += h.byS;
    else if (h.kind === 'stalled') this.#stillToS = h.atS + h.forS;
    else {
      this.#deafToS = h.atS + h.forS;
      this.#tapsToS = this.#deafToS;
      this.#zeroS += h.forS;
      if (h.kind === 'killed') this.#kill(h.tapsWaitS);
    }
  }

  #kill(tapsWaitS: number): void {
    this.#record.cutPower();
    this.#run.stop();
    this.#clock = new SettableClock();
    this.#zeroS = this.#deafToS;
    this.#tapsToS = this.#deafToS + tapsWaitS;
    this.#stillToS = Number.NEGATIVE_INFINITY;
    this.#waiting.splice(0, this.#waiting.length, ...this.#waiting.filter((w) => w.isTap));
    this.#run = this.#begin();
    this.#run.tell(`bridge-restart-${this.#record.linkCount()}`, 'note', 'The bridge was restarted.');
  }

  /**
   * What a page would show now, into the spans. A bridge that is off shows nothing. While a tap waits for the bridge, the
   * tablet that holds it says so beside the old verdict: nobody could know better.
   */
  #look(): void {
    const { analysis } = this.#run.course;
    const { visit, rinse } = analysis;
    if (rinse && rinse.clearAtS !== null) this.#rinseS ??= this.#nowS;
    const isOff = this.#nowS < this.#deafToS || this.#waiting.some((w) => w.isTap);
    const isClear = !isOff && visit !== null && analysis.verdict.state === 'clear';
    const last = this.#clears.at(-1);
    const goesOn = last?.toS === Number.POSITIVE_INFINITY ? last : null;
    if (goesOn && isClear && goesOn.emitter === visit.emitter && goesOn.visit === visit.visit) return;
    if (goesOn) goesOn.toS = this.#nowS;
    const { emitter = '', visit: count = 0 } = visit ?? {};
    if (isClear) this.#clears.push({ emitter, visit: count, fromS: this.#nowS, toS: Number.POSITIVE_INFINITY });
  }
}
