import { between } from '../quantity/in-time.ts';
import type { RunEvent } from '../job/event.ts';
import { type StageId, stageOf } from '../job/stages.ts';
import { counted, type Struck } from '../job/undo.ts';
import type { Visit } from '../line/verdict.ts';
import type { Uncertain } from '../quantity/interval.ts';
import type { Sample } from '../quantity/sample.ts';
import { type Driven, drive } from './drive.ts';
import { type LoggedEvent, type RunRecord, settingsOf } from './record.ts';

export interface Stay {
  readonly stage: StageId;
  readonly fromS: number;
  readonly toS: number;
  /** Reason that was given for leaving it, '' when there was none, and by whom. */
  readonly why: string;
  readonly leftBy: string;
}

export interface VisitFigures {
  readonly visit: Visit;
  readonly toS: number;
  /** Litres that flowed; null without a flow sensor. */
  readonly litres: number | null;
  readonly solidsG: Uncertain | null;
  /** Readings are missing in it: litres and solids are at least so much. */
  readonly isLeast: boolean;
}

export interface Gap {
  readonly fromS: number;
  readonly toS: number;
  readonly what: string;
}

/** A run with everything that audit, report and summary need of it, worked out once. */
export interface Gathered<R extends RunRecord = RunRecord> {
  readonly input: R;
  /** Events that count: nothing that was taken back, nor what took it back; what was put right, with its right figures. */
  readonly active: readonly LoggedEvent[];
  /** Typed figures that were put right or taken back, in the order in which that was done. */
  readonly struck: readonly Struck<LoggedEvent>[];
  readonly driven: Driven;
  readonly stays: readonly Stay[];
  readonly visits: readonly VisitFigures[];
  readonly gaps: readonly Gap[];
  readonly endS: number;
}

/** @param input in time order */
export function gather<R extends RunRecord>(input: R): Gathered<R> {
  const { entries, samples, head } = input;
  const { entries: active, struck } = counted(entries);
  const driven = input.driven ?? drive(head.context, samples, entries, settingsOf(input));
  const gaps = gapsOf(samples);
  const endS = Math.max(samples.at(-1)?.timeS ?? 0, entries.at(-1)?.event.timeS ?? 0);
  return {
    input,
    active,
    struck,
    driven,
    stays: staysOf(active, endS),
    visits: driven.visits.map((visit) => figuresOf(visit, driven, samples, gaps, endS)),
    gaps,
    endS,
  };
}

/** Events of that name that count. */
export function eventsNamed(g: Gathered, name: string): readonly LoggedEvent[] {
  return g.active.filter((e) => e.event.event === name);
}

/** A text or number of an event's data, as words; '' when it is not there. */
export function dataText(event: RunEvent, key: string): string {
  const value = event.data?.[key];
  return value === undefined || value === null ? '' : String(value);
}

export function dataNumber(event: RunEvent, key: string): number | null {
  const value = event.data?.[key];
  return typeof value === 'number' && Number.isFinite(value) ? value : null;
}

function staysOf(active: readonly LoggedEvent[], endS: number): Stay[] {
  const marks = active.flatMap(({ event, who }) => {
    const stage = event.event.startsWith('stage:') ? stageOf(event.event.slice(6)) : undefined;
    return stage ? [{ stage: stage.name, timeS: event.timeS, note: event.note, who }] : [];
  });
  return marks.flatMap(({ stage, timeS }, i) => {
    const next = marks[i + 1];
    if (stage === 'end') return [];
    // The note of the next stage's beginning says why this one was left.
    return [{ stage, fromS: timeS, toS: next?.timeS ?? endS, why: next?.note ?? '', leftBy: next?.who ?? '' }];
  });
}

function figuresOf(
  visit: Visit,
  driven: Driven,
  samples: readonly Sample[],
  gaps: readonly Gap[],
  endS: number,
): VisitFigures {
  const toS = visit.toS ?? endS;
  const within = between(samples, visit.fromS, toS);
  let litres = 0;
  let flowlessS = 0;
  let last: Sample | null = null;
  for (const s of within) {
    if (last && s.flowLpm === null) flowlessS += s.timeS - last.timeS;
    if (last && s.flowLpm !== null && s.timeS - last.timeS < 10) litres += (s.flowLpm * (s.timeS - last.timeS)) / 60;
    last = s;
  }
  const hasFlow = within.some((s) => s.flowLpm !== null);
  const dirt = driven.live.dirt.visits.find((d) => d.emitter === visit.emitter && d.fromS === visit.fromS);
  const isLeast = flowlessS > gapS || gaps.some((gap) => gap.toS > visit.fromS && gap.fromS < toS);
  return { visit, toS, litres: hasFlow ? litres : null, solidsG: hasFlow && dirt ? dirt.solids.grams : null, isLeast };
}

/** Longest silence that is no gap, s. */
export const gapS = 10;

function gapsOf(samples: readonly Sample[]): Gap[] {
  const gaps: Gap[] = [];
  let readS: number | null = null;
  for (const [i, s] of samples.entries()) {
    const before = samples[i - 1];
    if (before && s.timeS - before.timeS > gapS) gaps.push({ fromS: before.timeS, toS: s.timeS, what: 'no readings' });
    else if (s.turbidityNtu !== null && readS !== null && s.timeS - readS > gapS)
      gaps.push({ fromS: readS, toS: s.timeS, what: 'no turbidity' });
    if (s.turbidityNtu !== null) readS = s.timeS;
  }
  return gaps;
}
