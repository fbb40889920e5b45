import type { ClockState } from '../clocks.ts';
import type { RunContext } from '../context.ts';
import type { StageName } from '../event.ts';
import type { Job } from '../state.ts';
import type { LineSettings } from '../../line/settings.ts';
import type { LineFigures, Verdict, Visit } from '../../line/verdict.ts';
import type { Message } from '../../message/message.ts';
import type { QuantityKind } from '../../quantity/units.ts';
import type { CautionId } from './cautions.ts';
import type { LiveFigures } from './live.ts';
import type { Field } from './field.ts';
import { typedFields, type TypedName } from './typed.ts';
import type { Worked } from './worked.ts';

/** All that a stage may look at: the job by its events, live figures by its samples, and what follows from both. */
export interface Look {
  readonly job: Job;
  readonly context: RunContext;
  readonly live: LiveFigures;
  readonly worked: Worked;
  readonly visits: readonly Visit[];
  readonly rinse: Verdict | null;
  /** What the run is judged by. */
  readonly settings: LineSettings;
  readonly line: LineFigures;
  readonly timeS: number;
}

/** Where a live figure stands against its band. */
export type Stand = 'inside' | 'low' | 'high' | 'no-band' | 'not-measured';

/** A live figure beside its band. Figures in our units; the page shows them in those the user prefers. */
export interface Condition {
  readonly id: string;
  readonly label: string;
  /** `null`: not measured. */
  readonly value: number | null;
  readonly u?: number | null;
  /** Decides the unit that is shown; `unit` serves where there is no choice. */
  readonly kind?: QuantityKind;
  /** A change of that quantity per minute. */
  readonly perMin?: boolean;
  readonly unit?: string;
  readonly decimals?: number;
  readonly least?: number | null;
  readonly most?: number | null;
  /** In place of figures. */
  readonly words?: string;
  readonly note?: string;
}

/** Typed input: what is filled in is posted as one event. `fixed` says which form it is. */
export interface Form {
  readonly id: string;
  readonly title: string;
  readonly event: string;
  readonly fixed: Readonly<Record<string, string>>;
  readonly fields: readonly Field[];
  readonly submit: string;
  /** Why it is offered, where that is not plain. */
  readonly about?: string;
}

export interface Check {
  readonly id: string;
  readonly label: string;
}

export interface Action {
  readonly event: string;
  readonly label: string;
  readonly note?: string;
  readonly emitter?: string;
}

export interface Table {
  readonly title: string;
  readonly head: readonly string[];
  readonly rows: readonly (readonly string[])[];
}

/** A stage as data and pure functions of what is known. */
export interface StageSpec {
  readonly name: StageName;
  /** What to do, in plain words, in order. */
  readonly steps: (look: Look) => readonly string[];
  readonly cautions: readonly CautionId[];
  /** Must be acknowledged before this stage may begin. */
  readonly enterAfter?: readonly CautionId[];
  /** Must be acknowledged before the run moves on from it. */
  readonly leaveAfter?: readonly CautionId[];
  readonly conditions?: (look: Look) => readonly Condition[];
  readonly checks?: (look: Look) => readonly Check[];
  readonly forms?: (look: Look) => readonly Form[];
  readonly action?: (look: Look) => Action | null;
  /** What happens beside the work and is told by one touch. */
  readonly deeds?: (look: Look) => readonly Action[];
  readonly table?: (look: Look) => Table | null;
  /** What must not be overlooked, with what to do: marked, before all else. */
  readonly warnings?: (look: Look) => readonly Message[];
  /** What cannot be told, what stands out; said beside the figures. */
  readonly remarks?: (look: Look) => readonly Message[];
  /** What is missing before the next stage; empty: the gate is open. */
  readonly gate: (look: Look) => readonly Message[];
}

export function standOf(c: Condition): Stand {
  if (c.words !== undefined && c.value === null) return 'no-band';
  if (c.value === null || !Number.isFinite(c.value)) return 'not-measured';
  if (c.least === undefined && c.most === undefined) return 'no-band';
  if (c.least !== undefined && c.least !== null && c.value < c.least) return 'low';
  return c.most !== undefined && c.most !== null && c.value > c.most ? 'high' : 'inside';
}

export function need(code: string, params: Message['params'] = {}): Message {
  return { code: `stage.${code}`, params };
}

/** What is not yet ticked of a list. */
export function unticked(look: Look, checks: readonly Check[]): readonly Message[] {
  return checks.filter((c) => !look.job.checks.includes(c.id)).map((c) => need('tick', { what: c.label }));
}

/** A typed figure of this run, or null. */
export function typedFigure(job: Job, what: string): number | null {
  const value = job.entries[`typed ${what}`]?.data['value'];
  return typeof value === 'number' && Number.isFinite(value) ? value : null;
}

/** A single figure to type; what is possible comes from the list of typed figures. */
export function typedForm(what: TypedName, field: Partial<Field>, about?: string): Form {
  const { title, ...known } = typedFields[what];
  return {
    id: `typed-${what}`,
    title,
    event: 'typed',
    fixed: { what },
    fields: [{ ...known, ...field }],
    submit: 'Keep',
    ...(about === undefined ? {} : { about }),
  };
}

/** A clock that stands says why, in one sentence. */
export function clockRemarks(clock: ClockState | null): readonly Message[] {
  return (clock?.stops ?? []).map((stop) => {
    if (stop.why === 'gap') return need('clock-gap');
    if (stop.why === 'not-measured') return need('clock-not-measured', { what: stop.name });
    return need(stop.why === 'low' ? 'clock-low' : 'clock-high', {
      what: stop.name,
      value: stop.value,
      limit: stop.limit,
      unit: stop.unit,
    });
  });
}
