import { z } from 'zod';
import { channelByName, channels as allChannels } from '../../src/core/quantity/channels.ts';
import { nearest } from '../../src/core/message/nearest.ts';
import { kitPattern } from './kit-name.ts';
import { unitNames, unitStep } from './mapping-units.ts';
import type { Reject } from './pack.ts';

const topic = z.string().regex(/^[^+#\0]{1,200}$/);
const place = {
  /** CSV: number of the column from 1, or its name in `columns`. */
  column: z.union([z.int().min(1).max(200), z.string().min(1).max(64)]).optional(),
  /** JSON: pointer to the value (RFC 6901). */
  path: z
    .string()
    .regex(/^(\/([^~/]|~[01])*)+$/)
    .optional(),
  /** MQTT: the topic on which it comes. */
  topic: topic.optional(),
};

const channelSchema = z.strictObject({
  ...place,
  /** Unit of the value after factor and offset. */
  unit: z.string(),
  factor: z
    .number()
    .refine((value) => value !== 0)
    .default(1),
  offset: z.number().default(0),
  /** Range and quantisation of the sensor, in `unit`. */
  lo: z.number().optional(),
  hi: z.number().optional(),
  step: z.number().positive().optional(),
});

const mappingSchema = z.strictObject({
  kit: z.string().regex(kitPattern),
  /** How a line or a message is read; without it a message is one value. */
  form: z.enum(['csv', 'json', 'value']).default('value'),
  separator: z.string().min(1).max(4).default(','),
  decimal: z.enum(['.', ',']).default('.'),
  /** CSV: names of all columns in their order. */
  columns: z.array(z.string().min(1).max(64)).min(1).max(200).optional(),
  channels: z.record(z.string(), channelSchema),
  /** The engineer's button: where it is, and what it says when it is pressed. */
  pass: z.strictObject({ ...place, is: z.union([z.string(), z.number(), z.boolean()]) }).optional(),
  /** MQTT: topic on which the kit tells whether it is there. */
  state: topic.optional(),
  /** MQTT: values that come no further apart than this make one reading (seconds). */
  hold_s: z.number().positive().max(10).default(2),
});
export type Mapping = z.infer<typeof mappingSchema>;
export type MappedChannel = z.infer<typeof channelSchema>;

const keys = { top: Object.keys(mappingSchema.shape), channel: Object.keys(channelSchema.shape) };

const expected: Readonly<Record<string, string>> = {
  '': 'an object (docs/mapping.md has examples)',
  kit: 'a URN such as urn:dev:mac:0024befffe804ff1, or urn:dev:ops:12345-garage-7',
  form: 'csv, json or value',
  separator: 'one to four characters, such as , or ; or a space',
  decimal: '"." or ","',
  columns: 'the names of all columns',
  channels: 'an object of channels',
  column: 'a column number from 1, or a name in columns',
  path: 'a JSON pointer (RFC 6901), such as /water/ntu',
  topic: 'a whole MQTT topic, without + and #',
  state: 'a whole MQTT topic, without + and #',
  unit: 'a unit',
  factor: 'a number that is not 0',
  offset: 'a number',
  lo: 'a number',
  hi: 'a number',
  step: 'a number over 0',
  pass: 'where the button is, and what it is when pressed',
  is: 'the value that means pressed',
  hold_s: 'seconds over 0, up to 10',
};

/** Text of a mapping file -> mapping, or what is wrong with it: where in the file, what was found, what is expected. */
export function readMapping(text: string): { readonly mapping: Mapping } | { readonly problem: Reject } {
  let json: unknown;
  try {
    // Some editors put a mark of the byte order before the first letter.
    json = JSON.parse(text.replace(/^\uFEFF/, ''));
  } catch (error) {
    return {
      problem: { code: 'mapping-json', params: { what: error instanceof Error ? error.message : 'unreadable' } },
    };
  }
  const parsed = mappingSchema.safeParse(json);
  const problem = parsed.success ? contradiction(parsed.data) : fromIssue(parsed.error, json);
  if (problem) return { problem };
  return parsed.success ? { mapping: parsed.data } : { problem: fromIssue(parsed.error, json) };
}

function fromIssue(error: z.ZodError, json: unknown): Reject {
  const issue = error.issues[0];
  const path = (issue?.path ?? []).map(String);
  if (issue?.code === 'unrecognized_keys') {
    const name = issue.keys[0] ?? '';
    const known = path.length === 0 ? keys.top : keys.channel;
    return wrong('mapping-unknown', [...path, name], { nearest: nearest(name, known) ?? '', known: known.join(', ') });
  }
  let found: unknown = json;
  for (const key of path) found = typeof found === 'object' && found !== null ? Reflect.get(found, key) : undefined;
  return wrong('mapping-value', path, {
    found: shown(found),
    expected: expected[path.at(-1) ?? ''] ?? issue?.message ?? '',
  });
}

function shown(value: unknown): string {
  return value === undefined ? 'nothing' : JSON.stringify(value).slice(0, 60);
}

function wrong(code: string, path: readonly string[], params: Record<string, string>): Reject {
  return { code, params: { path: path.join('.') || 'the file', ...params } };
}

/** What the schema cannot see: values that are each right and do not fit together. */
function contradiction(mapping: Mapping): Reject | null {
  if (mapping.form === 'csv' && mapping.separator === mapping.decimal)
    return wrong('mapping-value', ['decimal'], {
      found: shown(mapping.decimal),
      expected: 'another character than separator, which is the same (; is usual with a decimal comma)',
    });
  const entries = Object.entries(mapping.channels);
  if (entries.length === 0)
    return wrong('mapping-value', ['channels'], {
      found: '{}',
      expected: 'at least one channel, turbidity first of all',
    });
  for (const [name, channel] of entries) {
    const known = channelByName(name);
    const names = allChannels.map((c) => c.name);
    if (!known)
      return wrong('mapping-unknown', ['channels', name], {
        nearest: nearest(name, names) ?? '',
        known: names.join(', '),
      });
    if (!unitStep(known, channel.unit))
      return wrong('mapping-value', ['channels', name, 'unit'], {
        found: shown(channel.unit),
        expected: unitNames(known).join(', '),
      });
    const { lo, hi } = channel;
    if (lo !== undefined && hi !== undefined && lo >= hi)
      return wrong('mapping-value', ['channels', name, 'lo'], {
        found: shown(lo),
        expected: `less than hi, which is ${shown(hi)}`,
      });
    const misplaced = placeProblem(mapping, ['channels', name], channel);
    if (misplaced) return misplaced;
  }
  return (mapping.pass && placeProblem(mapping, ['pass'], mapping.pass)) ?? mixed(mapping);
}

function placeProblem(mapping: Mapping, path: readonly string[], at: Place): Reject | null {
  const wanted = mapping.form === 'csv' ? 'column' : mapping.form === 'json' ? 'path' : 'topic';
  for (const key of ['column', 'path', 'topic'] as const) {
    const needed = key === wanted;
    if (needed && at[key] === undefined)
      return wrong('mapping-value', [...path, key], {
        found: 'nothing',
        expected: `${expected[key] ?? ''} (form is ${mapping.form})`,
      });
    if (!needed && key !== 'topic' && at[key] !== undefined)
      return wrong('mapping-value', [...path, key], {
        found: shown(at[key]),
        expected: `nothing here: form is ${mapping.form}, which goes by ${wanted}`,
      });
  }
  if (typeof at.column === 'string' && !mapping.columns?.includes(at.column))
    return wrong('mapping-value', [...path, 'column'], {
      found: shown(at.column),
      expected: mapping.columns ? `one of ${mapping.columns.join(', ')}` : 'a number, or columns to name it',
    });
  return null;
}

interface Place {
  readonly column?: number | string | undefined;
  readonly path?: string | undefined;
  readonly topic?: string | undefined;
}

/** Either every place has its topic (a kit on a broker) or none has (a kit on a serial port). */
function mixed(mapping: Mapping): Reject | null {
  const places: [string, Place][] = Object.entries(mapping.channels).map(([name, at]) => [`channels.${name}`, at]);
  if (mapping.pass) places.push(['pass', mapping.pass]);
  const without = places.find(([, at]) => at.topic === undefined);
  if (!without || places.every(([, at]) => at.topic === undefined)) return null;
  return wrong('mapping-value', [without[0], 'topic'], {
    found: 'nothing',
    expected: 'a topic, because other values have one',
  });
}

/** Topics that a mapping listens to; null for a kit on a serial port. */
export function mappedTopics(
  mapping: Mapping,
): { readonly readings: readonly string[]; readonly state: string | null } | null {
  const places: Place[] = [...Object.values(mapping.channels), ...(mapping.pass ? [mapping.pass] : [])];
  const topics = places.flatMap((at) => (at.topic === undefined ? [] : [at.topic]));
  return topics.length === 0 ? null : { readings: [...new Set(topics)], state: mapping.state ?? null };
}
