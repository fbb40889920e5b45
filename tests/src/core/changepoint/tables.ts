import { type SegmentInput, type Segmentation, segment } from '../../../../src/core/changepoint/segment.ts';

/** What is found in a table that is not refused. */
export function done(input: SegmentInput): Segmentation {
  const out = segment(input);
  if ('refused' in out) throw new Error(out.refused.code);
  return out;
}

export const column = (values: readonly (number | null)[], name = 'x') => ({ name, values });
