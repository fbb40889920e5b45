import { z } from 'zod';
import { channels } from '../core/quantity/channels.ts';
import type { ChainEnd } from '../core/seal/verify.ts';
import { eventColumns } from './events-csv.ts';

/**
 * datapackage.json by the Data Package standard 2.0 (datapackage.org): which files there are, what their columns mean,
 * and their hashes, so that common tools can read and check a recording without us.
 */
const profile = 'https://datapackage.org/profiles/2.0/datapackage.json';

/** A file as written. */
export interface WrittenFile {
  readonly name: string;
  readonly bytes: number;
  readonly sha256: string;
}

/** What we read back of it. `limpid.chain` is where the chain ended at the export. */
export const dataPackageSchema = z.looseObject({
  resources: z.array(z.looseObject({ path: z.string(), hash: z.string().optional() })),
  limpid: z.looseObject({ chain: z.object({ count: z.int(), hash: z.string() }).optional() }).optional(),
});

const timeField = {
  name: 'time_s',
  type: 'number',
  title: 'Time since the start of the run',
  unit: 's',
  constraints: { required: true, minimum: 0 },
};

function sampleField(column: string): object {
  const channel = channels.find((c) => c.column === column);
  if (!channel) return timeField;
  const { title, unit } = channel;
  return { name: column, type: 'number', title, unit };
}

const eventFields: Readonly<Record<(typeof eventColumns)[number], object>> = {
  time_s: timeField,
  event: { name: 'event', type: 'string', title: 'What happened', constraints: { required: true } },
  emitter: { name: 'emitter', type: 'string', title: 'Id of the emitter in context.json' },
  note: { name: 'note', type: 'string', title: 'Words of the engineer' },
};

function table(fields: object[], primaryKey?: string[]): object {
  return {
    type: 'table',
    format: 'csv',
    mediatype: 'text/csv',
    dialect: { delimiter: ',', lineTerminator: '\n', quoteChar: '"', doubleQuote: true, header: true },
    schema: { fields, missingValues: [''], ...(primaryKey ? { primaryKey } : {}) },
  };
}

function shape(name: string, sampleColumns: readonly string[]): object {
  if (name.endsWith('.jpg')) return { format: 'jpg', mediatype: 'image/jpeg' };
  if (name.endsWith('.png')) return { format: 'png', mediatype: 'image/png' };
  if (name === 'recording.csv') return table(sampleColumns.map(sampleField), ['time_s']);
  if (name === 'late.csv') return table(sampleColumns.map(sampleField));
  if (name === 'events.csv') return table(eventColumns.map((column) => eventFields[column]));
  if (name.endsWith('.jsonl')) return { format: 'jsonl', mediatype: 'application/x-ndjson' };
  return { format: 'json', mediatype: 'application/json' };
}

/** Names in a data package are lower-case letters, digits, `-`, `_` and `.`. */
function packageName(runId: string): string {
  const name = runId.toLowerCase().replace(/[^a-z0-9._-]+/g, '-');
  return name === '' ? 'recording' : name;
}

export function dataPackage(
  run: { runId: string; title: string; startedAt: string },
  files: readonly WrittenFile[],
  sampleColumns: readonly string[],
  end: ChainEnd | null,
): object {
  return {
    $schema: profile,
    name: packageName(run.runId),
    ...(run.title ? { title: run.title } : {}),
    ...(run.startedAt ? { created: run.startedAt } : {}),
    resources: files.map(({ name, bytes, sha256 }) => ({
      name: packageName(name.replace(/\.[a-z]+$/, '')),
      path: name,
      ...(/\.(jpg|png)$/.test(name) ? {} : { encoding: 'utf-8' }),
      bytes,
      hash: `sha256:${sha256}`,
      ...shape(name, sampleColumns),
    })),
    limpid: { v: 1, ...(end ? { chain: { count: end.count, hash: end.hash } } : {}) },
  };
}
