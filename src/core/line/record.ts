import type { Pulse, Verdict, Visit } from './verdict.ts';

export type Open<T> = { -readonly [K in keyof T]: T[K] };

/** One agitation of the emitter, in time and in litres. */
export interface Pass {
  readonly startS: number;
  readonly endS: number;
  readonly startL: number;
  readonly endL: number;
  /** Whether its beginning was told, or only reckoned from its end. */
  readonly isToldStart: boolean;
}

/** What one visit has brought so far; written by the line machine, read as a `Visit`. */
export class VisitRecord {
  readonly emitter: string;
  readonly visit: number;
  readonly fromS: number;
  toS: number | null = null;
  readonly passes: Pass[] = [];
  readonly pulses: Open<Pulse>[] = [];
  readonly clears: { fromS: number; toS: number | null }[] = [];
  /** Seconds since the last pass ended (or the opening), and those of them in which turbidity was no use. */
  seconds = 0;
  blind = 0;

  constructor(emitter: string, visit: number, fromS: number) {
    this.emitter = emitter;
    this.visit = visit;
    this.fromS = fromS;
  }

  /** The pulse under way, or null. */
  get pulse(): Open<Pulse> | null {
    const last = this.pulses.at(-1);
    return last && last.endS === null ? last : null;
  }

  /** Whether "clear" is shown from `timeS` on. */
  show(timeS: number, isClear: boolean): void {
    const last = this.clears.at(-1);
    const stands = last !== undefined && last.toS === null;
    if (isClear && !stands) this.clears.push({ fromS: timeS, toS: null });
    else if (!isClear && stands) last.toS = timeS;
  }

  /** Most of the time since the last pass ended nobody could see. */
  get isBlind(): boolean {
    return this.seconds > 0 && this.blind > blindShare * this.seconds;
  }

  /** Enough of it was seen to say what the pass brought. */
  get isWatched(): boolean {
    return this.blind <= unwatchedShare * this.seconds;
  }

  view(verdict: Verdict): Visit {
    const stands = verdict.state === 'clear';
    return {
      emitter: this.emitter,
      visit: this.visit,
      fromS: this.fromS,
      toS: this.toS,
      passesS: this.passes.map((p) => p.endS),
      pulses: this.pulses.map((p) => ({ ...p })),
      clears: this.clears.map((c) => ({ ...c })),
      verdict,
      withheld: !stands && (verdict.state === 'cannot-tell' || this.isBlind),
    };
  }
}

/** Turbidity of no use for more than this share of the time since the last pass: the verdict is withheld. */
const blindShare = 0.8;
/** Unseen for more than this share, a pass may have brought what nobody saw. Our own figure, no source. */
const unwatchedShare = 0.25;
