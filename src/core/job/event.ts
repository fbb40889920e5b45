import { z } from 'zod';

/** The thirteen stages of a run in their usual order, and two markers of a recording. */
export const stageNames = [
  'survey',
  'before-samples',
  'join',
  'fill',
  'dose',
  'warm',
  'half-fill',
  'emitters',
  'circulate',
  'rinse',
  'after-samples',
  'protect',
  'hand-over',
] as const;
export type StageName = (typeof stageNames)[number];
export const markerNames = ['baseline', 'end'] as const;

/** Event names that the core acts on or that a run needs; others are kept untouched. */
export const knownEvents = [
  'emitter-open',
  'emitter-shut',
  'agitate-start',
  'agitate-end',
  'pass-undone',
  'rig-pump-on',
  'rig-pump-off',
  'override',
  'skip',
  'note',
  'chamber-emptied',
  'flow-reverse',
  'flow-forward',
  'vent',
  'dose',
  'sample',
  'lead',
  'caution-read',
  'undo',
  'corrected',
  'survey-row',
  'survey-remove',
  'survey-order',
  'survey-table',
  'label',
  'typed',
  'check',
  'units',
  'limit',
  'limit-table',
  'hold-start',
  'hold-end',
  'pause',
  'resume',
  'weighed',
  'photo',
  'hand-over',
  'alarm-acknowledge',
  'alarm-silence',
  'alarm-shelve',
  'alarm-unshelve',
] as const;

/**
 * One thing that happened in a run, as the core sees it: engineer's tap, kit's button, or the bridge's own remark.
 * `timeS` is seconds on the run's clock. Stages are `stage:<name>`. `emitter` is an id of the context, or ''.
 * `data` holds what an event needs beyond a note (litres of a dose, figures of a sample), flat.
 */
export const runEventSchema = z.object({
  timeS: z.number().min(0),
  event: z.string().regex(/^[a-z][a-z0-9]*(-[a-z0-9]+)*(:[a-z0-9-]+)?$/),
  emitter: z.string().max(64),
  note: z.string().max(2000),
  data: z.record(z.string(), z.union([z.string(), z.number(), z.boolean(), z.null()])).optional(),
});
export type RunEvent = z.infer<typeof runEventSchema>;
