import type { RunEvent } from '../job/event.ts';
import { eventsNamed, type Gathered, type VisitFigures } from './gather.ts';

/** How an emitter stood when it was left for the last time. */
export interface EmitterOutcome {
  readonly id: string;
  readonly name: string;
  readonly litres: number | null;
  readonly visits: readonly VisitFigures[];
  readonly result: 'done' | 'clear' | 'not-clear' | 'cannot-tell' | 'skipped' | 'not-visited';
  /** The skip that stands. */
  readonly skip: RunEvent | null;
}

/** Every emitter of the system and every one that was worked on, in the order of the context. */
export function emitterOutcomes(g: Gathered): EmitterOutcome[] {
  const { emitters } = g.driven.context;
  const known = emitters.map((e) => ({ id: e.id, name: e.name || e.id, litres: e.volume_l }));
  const more = [...new Set(g.visits.map((v) => v.visit.emitter))].filter((id) => !emitters.some((e) => e.id === id));
  const others = more.map((id) => ({ id, name: id || 'Whole recording', litres: null }));
  // A recording without a single event is one visit to nobody in particular.
  const all = g.input.entries.length === 0 ? others : [...known, ...others];
  return all.map((e) => ({ ...e, ...outcomeOf(g, e.id) }));
}

function outcomeOf(g: Gathered, id: string): Pick<EmitterOutcome, 'visits' | 'result' | 'skip'> {
  const visits = g.visits.filter((v) => v.visit.emitter === id);
  const last = visits.at(-1);
  const skip = eventsNamed(g, 'skip').findLast((e) => e.event.emitter === id)?.event;
  if (skip && (!last || skip.timeS > last.visit.fromS)) return { visits, result: 'skipped', skip };
  if (!last) return { visits, result: 'not-visited', skip: null };
  const { verdict, withheld } = last.visit;
  if (verdict.state === 'clear') return { visits, result: verdict.done ? 'done' : 'clear', skip: null };
  return { visits, result: withheld ? 'cannot-tell' : 'not-clear', skip: null };
}

export function nameOf(g: Gathered, id: string): string {
  return g.driven.context.emitters.find((e) => e.id === id)?.name || id || 'the whole recording';
}
