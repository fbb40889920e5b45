import type { Texts } from './texts.ts';

/** Sentences of the change-point room, by code. Rows count from 0, as the answer does. */
export const changepointTexts = {
  'segment-no-columns': () => 'No column was named. Name at least one column of the table.',
  'segment-no-rows': (p) =>
    `${p['file'] ?? 'The table'} has a header and no rows. Give a file with a header and at least one row.`,
  'segment-uneven': (p) =>
    `Column ${p['column']} has ${p['rows']} rows, the first column has ${p['expected']}. Make them equally long; leave a cell empty where a value is missing.`,
  'segment-not-finite': (p) =>
    `Column ${p['column']}, row ${p['row']} is not a finite number. Leave the cell empty where a value is missing.`,
  'segment-one-row': () => 'The table has one row: there is nothing that it could change from.',
  'segment-few-rows': (p) => `The table has ${p['rows']} rows; at least ${p['least']} are needed to show a change.`,
  'segment-reference-long': (p) =>
    `The reference of ${p['reference']} rows holds the whole table (${p['rows']} rows): nothing can be declared after it.`,
  'segment-empty-column': (p) => `Column "${p['column']}" holds no number at all, so it tells nothing.`,
  'segment-constant': (p) => `Column "${p['column']}" never changes, so it tells nothing.`,
  'segment-penalty': (p) =>
    `A penalty is a number from 0, or bic, mbic or elbow; got ${p['penalty']}. Leave it out to let the data decide.`,
  'segment-penalty-long': (p) =>
    `A penalty over ${p['columns']} columns of ${p['rows']} rows would take many minutes: its time grows with the square of the rows. Leave the penalty out, give one column at a time, or at most ${p['most']} rows.`,
  'segment-reference': (p) =>
    `The reference is a whole number of rows from 8; got ${p['reference']}. Give the number of first rows that are normal.`,
  'segment-time': (p) =>
    `The time in row ${p['row']} (counted from 0) lies before that of the row above it. Sort the table by time first.`,
} satisfies Texts;
