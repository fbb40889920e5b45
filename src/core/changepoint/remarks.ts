import type { SegmentInput, SegmentRefusal } from './segment.ts';

/** A level is two rows at least (`tinyChange`). */
const fewestRows = 4;

/** What is odd of a table that can be used all the same: whoever sees no change in it should know why. */
export function remarksOn(input: SegmentInput): SegmentRefusal['refused'][] {
  const rows = input.columns[0]?.values.length ?? 0;
  if (rows === 1) return [{ code: 'segment-one-row', params: {} }];
  const { reference } = input;
  return [
    ...(rows < fewestRows ? [{ code: 'segment-few-rows', params: { rows, least: fewestRows } }] : []),
    ...(reference !== undefined && reference >= rows
      ? [{ code: 'segment-reference-long', params: { reference, rows } }]
      : []),
    ...input.columns.flatMap(({ name, values }) => {
      const there = values.filter((v) => v !== null);
      if (there.length === 0) return [{ code: 'segment-empty-column', params: { column: name } }];
      return there.every((v) => v === there[0]) ? [{ code: 'segment-constant', params: { column: name } }] : [];
    }),
  ];
}
