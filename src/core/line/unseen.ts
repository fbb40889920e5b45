import type { VisitRecord } from './record.ts';
import type { LineSettings } from './settings.ts';
import type { Verdict } from './verdict.ts';

/** The spell in which nothing could be told, and what a visit ends with that is shut in it or just after it. */
export class Unseen {
  /** Last second of it. */
  lastS = Number.NEGATIVE_INFINITY;
  /** What was said before it, and in it. */
  private before: Verdict | null = null;
  private said: Verdict | null = null;
  private readonly settings: LineSettings;

  constructor(settings: LineSettings) {
    this.settings = settings;
  }

  /** One second of it. */
  second(timeS: number, before: Verdict, said: Verdict): void {
    this.lastS = timeS;
    if (before.state !== 'cannot-tell') this.before = before;
    this.said = said;
  }

  /** What a visit ends with where `verdict` is what stands. */
  ending(timeS: number, verdict: Verdict, record: VisitRecord): Verdict {
    return this.forgiven(timeS, verdict, record) ?? this.stillBlind(timeS, verdict, record) ?? verdict;
  }

  /**
   * The flow stopped moments before the tap that shut the emitter: it was the shutting. Then the visit ends with what was
   * said before.
   */
  private forgiven(timeS: number, { reason, sinceS }: Verdict, record: VisitRecord): Verdict | null {
    const { before } = this;
    if (reason.code !== 'no-flow' || !before || timeS - sinceS > this.settings.lateTapS) return null;
    const clear = record.clears.at(-1);
    if (before.state === 'clear' && clear) clear.toS = timeS;
    return before;
  }

  /** Sight came back too late for anything to be told, often with the next emitter: the visit ends as blind as it was. */
  private stillBlind(timeS: number, { state }: Verdict, record: VisitRecord): Verdict | null {
    const { said, lastS } = this;
    const { seeingS } = this.settings;
    if (!said || said.sinceS < record.fromS || state === 'clear' || state === 'cannot-tell') return null;
    const wasLong = lastS - said.sinceS >= seeingS;
    return wasLong && timeS - lastS < seeingS && readingCodes.has(said.reason.code) ? said : null;
  }
}

/** Faults of the reading itself. */
const readingCodes = new Set(['silence', 'turbidity-missing', 'over-range', 'stuck', 'dark', 'no-flow']);
