import type { z } from 'zod';
import { runEventSchema, type RunEvent } from '../core/job/event.ts';
import { Problem } from '../core/message/problem.ts';
import { eventIdSchema, samplesKept } from './rows.ts';
import type { NewEvent } from './store.ts';

// Half an emoji, cut off by a length limit, is no text that can be hashed or exported.
const whole = (text: string): string => text.replace(/\p{Surrogate}/gu, '\ufffd');
// -0 has no canonical text of its own.
const plain = (value: number): number => (value === 0 ? 0 : value);

function refuse(event: NewEvent, path: string, detail: string): never {
  throw new Problem('store-event-invalid', { event: String(event.event?.event), path, detail });
}

function checked<T>(event: NewEvent, path: string, schema: z.ZodType<T>, value: unknown): T {
  const result = schema.safeParse(value);
  if (result.success) return result.data;
  const issue = result.error.issues[0];
  return refuse(event, [path, ...(issue?.path ?? [])].join('.'), issue?.message ?? 'invalid');
}

/**
 * The event as it can be chained: checked, and freed of what JSON cannot carry exactly. The store's own events cannot be
 * sent from outside. Throws Problem.
 */
export function cleanEvent(event: NewEvent): NewEvent {
  const id = checked(event, 'id', eventIdSchema, event.id);
  const { timeS, event: name, emitter, note, data } = checked(event, 'event', runEventSchema, event.event);
  if (name === samplesKept || id.startsWith(`${samplesKept}-`))
    refuse(event, 'event', 'this name is kept for the store itself');
  const clean: RunEvent = { timeS: plain(timeS), event: name, emitter: whole(emitter), note: whole(note) };
  if (data) {
    const members = Object.entries(data).map(([key, value]): [string, typeof value] => {
      if (typeof value === 'string') return [whole(key), whole(value)];
      return [whole(key), typeof value === 'number' ? plain(value) : value];
    });
    clean.data = Object.fromEntries(members);
  }
  return { id, event: clean, who: whole(event.who), wallAt: whole(event.wallAt) };
}
