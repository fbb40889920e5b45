import { z } from 'zod';

const litres = z.number().positive().max(100000);

/**
 * What is known of the system before the water moves: `context.json` of a recording, and the head of a run.
 * All volumes are estimates, 10-20 % off. Unknown fields are kept.
 */
export const contextSchema = z.looseObject({
  emitters: z.array(
    z.looseObject({
      /** Used in events; unique. */
      id: z.string().min(1).max(64),
      name: z.string().max(200),
      /** Water content of the emitter, full, litres. */
      volume_l: litres,
      /** Pipe litres from this emitter's outlet to the return sensor; wins over `return_volume_l`. */
      path_l: z.number().min(0).max(100000).optional(),
    }),
  ),
  /** Once round the whole loop, litres. */
  loop_volume_l: litres,
  /** Pipe litres from an emitter's outlet to the return sensor, mean over emitters, emitter not included. */
  return_volume_l: z.number().min(0).max(100000),
  mains: z.looseObject({
    turbidity_ntu: z.number(),
    conductivity_us_cm: z.number(),
    /** What still counts as mains level in the rinse, where this run set it: NTU over the mains, share of the mains. */
    over_ntu: z.number().positive().max(1000).optional(),
    over_share: z.number().positive().max(1).optional(),
  }),
  sample_hz: z.number().positive().max(1000),
  run_id: z.string().max(128).optional(),
  started_at: z.string().optional(),
  system: z.enum(['sealed', 'open-vented']).optional(),
  /** What the kit told of itself in `hello`: range and quantisation step per channel name, in our units. */
  kit: z
    .looseObject({
      id: z.string().optional(),
      channels: z
        .record(
          z.string(),
          z.looseObject({ lo: z.number().optional(), hi: z.number().optional(), step: z.number().optional() }),
        )
        .optional(),
    })
    .optional(),
});
export type RunContext = z.infer<typeof contextSchema>;
