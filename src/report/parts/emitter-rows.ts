import { say } from '../../core/message/message.ts';
import { moment } from '../fact.ts';
import { eventsNamed, type Gathered, type VisitFigures } from '../gather.ts';

export interface EmitterRow {
  readonly id: string;
  readonly name: string;
  readonly litres: number | null;
  readonly visits: readonly VisitFigures[];
  /** How it stood when it was left for the last time. */
  readonly result: 'done' | 'clear' | 'not-clear' | 'cannot-tell' | 'skipped' | 'not-visited';
  /** One sentence with figures, or the reason that was given; '' when there is nothing to say. */
  readonly reason: string;
}

/** Every emitter of the system and every one that was worked on, in the order of the context. */
export function emitterRows(g: Gathered): EmitterRow[] {
  const { emitters } = g.driven.context;
  const known = emitters.map((e) => ({ id: e.id, name: e.name || e.id, litres: e.volume_l }));
  const more = [...new Set(g.visits.map((v) => v.visit.emitter))].filter((id) => !emitters.some((e) => e.id === id));
  const others = more.map((id) => ({ id, name: id || 'Whole recording', litres: null }));
  // A recording without a single event is one visit to nobody in particular.
  const anonymous = g.input.entries.length === 0 ? others : [...known, ...others];
  return anonymous.map((e) => ({ ...e, ...resultOf(g, e.id) }));
}

function resultOf(g: Gathered, id: string): Pick<EmitterRow, 'visits' | 'result' | 'reason'> {
  const visits = g.visits.filter((v) => v.visit.emitter === id);
  const last = visits.at(-1);
  const skip = eventsNamed(g, 'skip').findLast((e) => e.event.emitter === id)?.event;
  if (skip && (!last || skip.timeS > last.visit.fromS))
    return { visits, result: 'skipped', reason: `Reason: ${skip.note || 'none was given'}. At ${moment(skip.timeS)}.` };
  if (!last) return { visits, result: 'not-visited', reason: '' };
  const { verdict, withheld } = last.visit;
  const reason = say({ code: verdict.reason.code, params: finite(verdict.reason.figures) });
  if (verdict.state === 'clear') return { visits, result: verdict.done ? 'done' : 'clear', reason };
  return { visits, result: withheld ? 'cannot-tell' : 'not-clear', reason };
}

function finite(figures: Readonly<Record<string, number>>): Record<string, number> {
  return Object.fromEntries(Object.entries(figures).filter(([, value]) => Number.isFinite(value)));
}

export const resultWords: Readonly<Record<EmitterRow['result'], string>> = {
  done: 'Done',
  clear: 'Clear, not done',
  'not-clear': 'Not clear',
  'cannot-tell': 'Cannot tell',
  skipped: 'Skipped',
  'not-visited': 'Not worked on',
};
