import { type RunEvent, type StageName, stageNames } from './event.ts';
import type { StageId } from './stages.ts';

/** How far one stage has come. */
export interface StageCourse {
  readonly status: 'to-come' | 'now' | 'done' | 'left' | 'skipped';
  /** How often it was entered. */
  readonly times: number;
  readonly sinceS: number | null;
  /** Run-clock seconds spent in it so far, the present stay not counted. */
  readonly spentS: number;
  /** Why it was skipped, left early or taken up again; '' when there was nothing to say. */
  readonly why: string;
}

export type Course = Readonly<Record<StageName, StageCourse>>;

/** Figures that were typed or noted, newest of its kind. */
export interface Typed {
  readonly timeS: number;
  readonly data: NonNullable<RunEvent['data']>;
}

export interface Dose {
  readonly timeS: number;
  /** `cleaner` or `inhibitor`; '' when it was not said. */
  readonly what: string;
  readonly litres: number | null;
}

/** A photo of the record; its file stands beside the record, by its hash. */
export interface Photo {
  readonly timeS: number;
  readonly emitter: string;
  /** What it shows, in words. */
  readonly what: string;
  /** Name of its file; '' where the photo was taken elsewhere and only noted. */
  readonly file: string;
  readonly sha256: string;
}

/** Sludge from the chambers, weighed by hand. */
export interface Weighed {
  readonly timeS: number;
  readonly grams: number;
  /** `wet` or `dry`; '' when it was not said. */
  readonly how: string;
}

const text = (value: unknown): string => (typeof value === 'string' ? value : '');

export function photoOf({ timeS, emitter, note, data = {} }: RunEvent): Photo {
  return { timeS, emitter, what: note, file: text(data['file']), sha256: text(data['sha256']) };
}

export function weighedOf({ timeS, data = {} }: RunEvent): Weighed | null {
  const grams = data['grams'];
  return typeof grams === 'number' ? { timeS, grams, how: text(data['how']) } : null;
}

const fresh: StageCourse = { status: 'to-come', times: 0, sinceS: null, spentS: 0, why: '' };

export function freshCourse(): Course {
  return {
    survey: fresh,
    'before-samples': fresh,
    join: fresh,
    fill: fresh,
    dose: fresh,
    warm: fresh,
    'half-fill': fresh,
    emitters: fresh,
    circulate: fresh,
    rinse: fresh,
    'after-samples': fresh,
    protect: fresh,
    'hand-over': fresh,
  };
}

export function isStageName(name: string | null): name is StageName {
  return stageNames.some((s) => s === name);
}

/**
 * Something was still missing when a stage was left. A record made before that was kept has the reason alone, which was
 * asked for then, or for going out of the usual order.
 */
function lacked({ note, data }: RunEvent): boolean {
  const missing = data?.['missing'];
  return typeof missing === 'number' ? missing > 0 : note !== '';
}

/** How the stage stands that this event leaves. */
function leftAs(was: StageCourse, event: RunEvent): StageCourse['status'] {
  if (was.status === 'skipped') return 'skipped';
  return lacked(event) ? 'left' : 'done';
}

/** The run moves on to a stage: the one before is done, or left with something missing, unless it was said to be skipped; those jumped over are skipped. */
export function entered(
  job: { readonly stage: StageId | null; readonly course: Course },
  to: StageId,
  event: RunEvent,
): Course {
  const from = job.stage;
  const course: Record<StageName, StageCourse> = { ...job.course };
  if (isStageName(from) && from !== to) {
    const was = course[from];
    course[from] = {
      ...was,
      status: leftAs(was, event),
      spentS: was.spentS + Math.max(0, event.timeS - (was.sinceS ?? event.timeS)),
      sinceS: null,
      why: event.note === '' ? was.why : event.note,
    };
  }
  if (isStageName(from) && (isStageName(to) || to === 'end')) {
    const end = to === 'end' ? stageNames.length : stageNames.indexOf(to);
    for (const name of stageNames.slice(stageNames.indexOf(from) + 1, end)) {
      if (course[name].status === 'to-come') course[name] = { ...course[name], status: 'skipped', why: event.note };
    }
  }
  if (isStageName(to) && (from !== to || course[to].times === 0)) {
    const is = course[to];
    course[to] = { ...is, status: 'now', times: is.times + 1, sinceS: event.timeS };
  }
  return course;
}

/** Key under which a typed thing is kept, or null when the event carries none. */
export function entryKey(event: Pick<RunEvent, 'event' | 'data'>): string | null {
  const { data } = event;
  const of = event.event === 'sample' ? data?.['water'] : data?.['what'];
  if (event.event !== 'sample' && event.event !== 'label' && event.event !== 'typed') return null;
  return typeof of === 'string' ? `${event.event} ${of}` : null;
}
