import { signal } from '@preact/signals';
import type { RunView } from '../../src/server/protocol.ts';
import type { Span } from '../shared/plot-data.ts';
import { ageOf, buffer, linkState, runNowS } from './model.ts';

/** The span that all charts of the page show, and the instant that a finger points at. */
export type Look = 'short' | 'long' | 'pulses' | 'table';
export const look = signal<Look>('short');
/** A touch freezes it; new rows are kept and nothing jumps. */
export const frozen = signal<Span | null>(null);
/** Run-clock seconds pointed at; null: none. */
export const pointedS = signal<number | null>(null);

const aheadS = 60;
const behindS: Readonly<Record<Look, number>> = { short: 240, long: 840, pulses: 240, table: 240 };
const leastS = 20;
const mostS = 7200;

/** Age of the newest row from which on it is no longer now, s: as in the live figure. */
const silentS = 3;

/** The newest row; the clock where none comes, whoever is silent: what stands still would look live. */
export function chartNowS(): number {
  const { lastS } = buffer;
  return linkState.value !== 'live' || lastS === null || ageOf(lastS) > silentS ? runNowS() : lastS;
}

export function shownSpan(): Span {
  if (frozen.value !== null) return frozen.value;
  const nowS = chartNowS();
  return { fromS: nowS - behindS[look.value], toS: nowS + aheadS };
}

/** Time counts from the opening of the emitter that is worked on, else from the start of the run. */
export function originS(now: RunView | null): number {
  return now?.visitSpans.findLast((span) => span.toS === null)?.fromS ?? 0;
}

/** A span moved and stretched: from 20 s to two hours, never past what can be known, never before the run. */
export function heldSpan(span: Span, nowS: number): Span {
  const lengthS = Math.min(mostS, Math.max(leastS, span.toS - span.fromS));
  const middleS = (span.fromS + span.toS) / 2;
  const lastS = nowS + aheadS;
  const fromS = Math.max(Math.min(middleS - lengthS / 2, lastS - lengthS), Math.min(-aheadS, lastS - lengthS));
  return { fromS, toS: fromS + lengthS };
}

/** @param by Share of the span; the content moves to the right when positive. */
export function panBy(by: number): void {
  const { fromS, toS } = shownSpan();
  const moveS = -by * (toS - fromS);
  frozen.value = heldSpan({ fromS: fromS + moveS, toS: toS + moveS }, chartNowS());
}

export function zoomBy(factor: number, at: number): void {
  const { fromS, toS } = shownSpan();
  const lengthS = Math.min(mostS, Math.max(leastS, (toS - fromS) / factor));
  const pivotS = fromS + at * (toS - fromS);
  frozen.value = heldSpan({ fromS: pivotS - at * lengthS, toS: pivotS + (1 - at) * lengthS }, chartNowS());
}

export function backToLive(): void {
  frozen.value = null;
  pointedS.value = null;
}
