import type { Pulse, Verdict, Visit } from './verdict.ts';

type Open<T> = { -readonly [K in keyof T]: T[K] };

/** What one visit has brought so far; written by the line machine, read as a `Visit`. */
export class VisitRecord {
  readonly emitter: string;
  readonly visit: number;
  readonly fromS: number;
  toS: number | null = null;
  readonly passes: { startS: number; endS: number; startL: number; endL: number; told: boolean }[] = [];
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

  get pulse(): Open<Pulse> | null {
    const last = this.pulses.at(-1);
    return last && last.endS === null ? last : null;
  }

  view(verdict: Verdict): Visit {
    const stands = this.clears.some((c) => c.toS === null || c.toS === this.toS);
    const blind = this.seconds > 0 && this.blind > 0.8 * this.seconds;
    return {
      emitter: this.emitter,
      visit: this.visit,
      fromS: this.fromS,
      toS: this.toS,
      passesS: this.passes.map((p) => p.endS),
      pulses: this.pulses.map((p) => ({ ...p })),
      clears: this.clears.map((c) => ({ ...c })),
      verdict,
      withheld: !stands && (verdict.state === 'cannot-tell' || blind),
    };
  }
}
