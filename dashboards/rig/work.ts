import { signal } from '@preact/signals';

/** What stands before the line while emitters are worked on: nothing, the work behind it, or one emitter of the list. */
export const isWorkOpen = signal(false);
/** Id of the emitter that is looked at; `null`: none. */
export const lookedAt = signal<string | null>(null);
