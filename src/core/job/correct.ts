import type { Message } from '../message/message.ts';
import type { RunEvent } from './event.ts';
import { limitOf } from '../chemistry/limits.ts';
import { entryKey } from './record.ts';
import { formOf, refuseTyped } from './stages/forms.ts';
import type { Form } from './stages/stage.ts';
import type { Entry, JobState } from './state.ts';
import { counted, typedEvents } from './undo.ts';

type Data = NonNullable<RunEvent['data']>;

/** What was typed of this kind and is no sum: the newest takes the place of those before. */
function keyOf({ event, data }: RunEvent): string | null {
  return event === 'limit' ? `limit ${limitOf(data ?? {})?.item ?? ''}` : entryKey({ event, data });
}

export interface TypedEntry {
  readonly id: string;
  readonly timeS: number;
  readonly form: Form;
  /** As it stands now: put right already, where it was. */
  readonly data: Data;
}

/** What was typed and counts, newest first: all that can still be put right. */
export function typedEntries(log: readonly Entry[]): TypedEntry[] {
  const seen = new Set<string>();
  return counted(log)
    .entries.toReversed()
    .flatMap(({ id, event }) => {
      if (!typedEvents.has(event.event)) return [];
      const key = keyOf(event);
      if (key !== null && seen.has(key)) return [];
      if (key !== null) seen.add(key);
      const form = formOf(event.event, event.data ?? {});
      return form ? [{ id, timeS: event.timeS, form, data: event.data ?? {} }] : [];
    });
}

/**
 * The event that puts right what was typed: it names the wrong entry and carries all its figures as they should be. A
 * dose stays that of the cleaner, a water test that of the same water. Or what stands in the way.
 */
export function correction(
  { log, undone }: JobState,
  data: Data,
  note: string,
  timeS: number,
): { readonly event: RunEvent } | { readonly refusal: Message } {
  const wrong = log.find((e) => e.id === data['corrects']);
  if (!wrong || !typedEvents.has(wrong.event.event)) return { refusal: { code: 'job.correct-unknown', params: {} } };
  if (undone.has(wrong.id)) return { refusal: { code: 'job.correct-undone', params: {} } };
  const { event: of, emitter, data: was = {} } = wrong.event;
  const kept = Object.fromEntries(['what', 'water'].flatMap((k) => (was[k] === undefined ? [] : [[k, was[k]]])));
  const figures: Data = { ...data, ...kept };
  const refusal = refuseTyped(of, figures);
  if (refusal) return { refusal };
  return { event: { timeS, event: 'corrected', emitter, note, data: { ...figures, corrects: wrong.id, of } } };
}
