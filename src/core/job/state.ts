import type { Limit, LimitSet } from '../chemistry/limits.ts';
import { type UnitChoice, unitChoiceOf } from '../quantity/units.ts';
import type { RunContext } from './context.ts';
import type { RunEvent } from './event.ts';
import { type Course, type Dose, freshCourse, type Photo, type Typed, type Weighed } from './record.ts';
import type { StageId } from './stages.ts';
import type { Survey } from './survey.ts';
import { surveyOfContext } from './survey-rows.ts';

/** An event as committed: undo names it by its id. */
export interface Entry {
  readonly id: string;
  readonly event: RunEvent;
  /** Paired device, `kit`, `bridge` or `loopback`. */
  readonly who: string;
}

export interface EmitterState {
  readonly id: string;
  readonly status: 'to-come' | 'open' | 'shut' | 'skipped';
  /** Visits begun so far, undone ones not counted. */
  readonly openings: number;
  /** Passes so far, undone ones not counted. */
  readonly passes: number;
  readonly openedAtS: number | null;
  /** Why it was skipped; '' when it was not. */
  readonly skipReason: string;
}

/** One pass by its own length, run-clock seconds. */
export interface Shake {
  readonly emitter: string;
  readonly fromS: number;
  readonly toS: number;
}

/** What the run has come to, by its events alone. */
export interface Job {
  /** `null` until the first stage event. */
  readonly stage: StageId | null;
  readonly stageSinceS: number;
  readonly emitters: readonly EmitterState[];
  readonly openEmitter: string | null;
  /** Passes of the visit under way, run-clock seconds. */
  readonly passesS: readonly number[];
  /** Every pass of the run that was not taken back, oldest first: the time of a hand on the tool. */
  readonly shaken: readonly Shake[];
  /** A pass is under way since; `null` while none is, or its beginning was not told. */
  readonly shakingS: number | null;
  /** `null` until told. */
  readonly pumpOn: boolean | null;
  /** Device that leads; `null` while nobody took the lead, and then anybody may write. */
  readonly lead: string | null;
  readonly cautionsRead: readonly string[];
  readonly course: Course;
  /** The run rests, and why; `null` while it goes on. */
  readonly paused: { readonly sinceS: number; readonly why: string } | null;
  /** Spans in which the run rested, the present one not counted. */
  readonly rests: readonly { readonly fromS: number; readonly toS: number; readonly why: string }[];
  readonly isReversed: boolean;
  /** When the capture chambers were last emptied; `null`: not in this run. */
  readonly chamberEmptiedS: number | null;
  readonly survey: Survey;
  /** True once somebody surveyed in this run; before, the survey is what the context says. */
  readonly surveyTold: boolean;
  /** Typed figures, newest of each kind: `sample mains`, `label cleaner`, `typed <what>`. */
  readonly entries: Readonly<Record<string, Typed>>;
  readonly doses: readonly Dose[];
  /** Ids of what was ticked. */
  readonly checks: readonly string[];
  /** Span of the newest pressure hold; `null` when none was begun. */
  readonly hold: { readonly fromS: number; readonly toS: number | null } | null;
  readonly handedOver: Typed | null;
  /** In what the figures of this run are shown, on screen and paper. */
  readonly units: UnitChoice;
  /** A set of limits taken from a table; `null`: those that follow from the materials. */
  readonly limitTable: LimitSet | null;
  /** Limits that were set by hand since, one for each item. */
  readonly limitChanges: readonly Limit[];
  readonly photos: readonly Photo[];
  /** Sludge that was weighed. */
  readonly weighed: readonly Weighed[];
}

/** The job, with the log from which it is folded. */
export interface JobState {
  readonly start: Job;
  readonly job: Job;
  readonly log: readonly Entry[];
  /** Ids of events that were taken back, and that no longer count. */
  readonly undone: ReadonlySet<string>;
}

/** The state before any event. Emitters are in the order of the context: the visiting order. */
export function startState(context: RunContext): JobState {
  const start: Job = {
    stage: null,
    stageSinceS: 0,
    emitters: context.emitters.map(({ id }) => newEmitter(id)),
    openEmitter: null,
    passesS: [],
    shaken: [],
    shakingS: null,
    pumpOn: null,
    lead: null,
    cautionsRead: [],
    course: freshCourse(),
    paused: null,
    rests: [],
    isReversed: false,
    chamberEmptiedS: null,
    survey: surveyOfContext(context),
    surveyTold: false,
    entries: {},
    doses: [],
    checks: [],
    hold: null,
    handedOver: null,
    units: unitChoiceOf(context['units']),
    limitTable: null,
    limitChanges: [],
    photos: [],
    weighed: [],
  };
  return { start, job: start, log: [], undone: new Set() };
}

export function newEmitter(id: string): EmitterState {
  return { id, status: 'to-come', openings: 0, passes: 0, openedAtS: null, skipReason: '' };
}

export function emitterOf(job: Job, id: string): EmitterState | undefined {
  return job.emitters.find((e) => e.id === id);
}
