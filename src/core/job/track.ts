import type { Reason, Verdict } from '../line/verdict.ts';

/** A span in which one kind of verdict was shown, with the reason it began with. */
export interface VerdictSpan {
  readonly state: Verdict['state'];
  readonly done: boolean;
  readonly reason: Reason;
  readonly fromS: number;
  /** `null` while it stands. */
  readonly toS: number | null;
}

/**
 * The verdicts shown, one after the other, newest last: what the chart hatches where nothing could be told. Kept by
 * the run, because the analysis holds only the verdict that stands.
 */
export function trackVerdict(spans: VerdictSpan[], verdict: Verdict): void {
  const last = spans.at(-1);
  if (last && last.state === verdict.state && last.done === verdict.done) return;
  const fromS = last ? Math.max(verdict.sinceS, last.fromS) : verdict.sinceS;
  if (last) spans[spans.length - 1] = { ...last, toS: fromS };
  spans.push({ state: verdict.state, done: verdict.done, reason: verdict.reason, fromS, toS: null });
  // Hours of blinking would fit; a bound keeps a broken sensor from filling memory.
  if (spans.length > 4000) spans.splice(0, 1000);
}
