/**
 * Off-line segmentation, with nothing told, of public series whose changes several people marked: the data set of van
 * den Burg and Williams, "An evaluation of change point detection algorithms" (2020). FOLDER is a checkout of it
 * (annotations.json, datasets/NAME/NAME.json); series that are missing there are left out and counted. Held against two
 * obvious answers: no change at all, and levels at the price of BIC. Prints JSON: F1 within 5 rows and covering, as the
 * paper defines both, one row a series and the means.
 *
 *   npx tsx bench/labelled.ts FOLDER
 */
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { z } from 'zod';
import { covering, marginScoreOfMany } from '../src/core/changepoint/score.ts';
import { segment, type SegmentInput } from '../src/core/changepoint/segment.ts';

const marksSchema = z.record(z.string(), z.record(z.string(), z.array(z.int())));
const seriesSchema = z.looseObject({
  n_obs: z.int(),
  series: z.array(z.looseObject({ label: z.string(), raw: z.array(z.number().nullable()) })),
});

/** Rows by which a found change may lie off a marked one: the paper's. */
const margin = 5;

const ways: Record<string, (columns: SegmentInput['columns']) => readonly number[]> = {
  limpid: (columns) => changesOf({ columns }),
  none: () => [],
  bic: (columns) => changesOf({ columns, penalty: 'bic' }),
};

function changesOf(input: SegmentInput): readonly number[] {
  const cut = segment(input);
  if ('refused' in cut) throw new Error(JSON.stringify(cut.refused));
  return cut.changepoints;
}

const folder = process.argv[2];
if (folder === undefined || !existsSync(join(folder, 'annotations.json'))) {
  console.error(
    'Which folder? It must hold annotations.json and datasets/ of the public data set (see bench/labelled.ts).',
  );
  process.exit(2);
}
const marks = marksSchema.parse(JSON.parse(readFileSync(join(folder, 'annotations.json'), 'utf8')));
const rows: Record<string, unknown>[] = [];
const missing: string[] = [];
const sums: Record<string, { f1: number; covering: number }> = {};
for (const [name, people] of Object.entries(marks)) {
  const file = join(folder, 'datasets', name, `${name}.json`);
  if (!existsSync(file)) {
    missing.push(name);
    continue;
  }
  const { n_obs, series } = seriesSchema.parse(JSON.parse(readFileSync(file, 'utf8')));
  const columns = series.map((s) => ({ name: s.label, values: s.raw }));
  const marked = Object.values(people);
  const row: Record<string, unknown> = { name, rows: n_obs };
  for (const [way, answer] of Object.entries(ways)) {
    const found = answer(columns);
    const { f1 } = marginScoreOfMany(marked, found, margin);
    const cover = marked.reduce((s, truth) => s + covering(truth, found, n_obs), 0) / marked.length;
    const sum = (sums[way] ??= { f1: 0, covering: 0 });
    sum.f1 += f1;
    sum.covering += cover;
    row[way] = { changes: found.length, f1: Number(f1.toFixed(3)), covering: Number(cover.toFixed(3)) };
  }
  rows.push(row);
}
const mean = (sum: number): number => Number((sum / Math.max(1, rows.length)).toFixed(3));
const means = Object.fromEntries(
  Object.entries(sums).map(([way, s]) => [way, { f1: mean(s.f1), covering: mean(s.covering) }]),
);
console.log(JSON.stringify({ rows, series: rows.length, missing, means }, null, 1));
