import { lineText } from './line-text.ts';
import type { Reject } from './pack.ts';
import { isPlainPack } from './plain-pack.ts';
import { baseFields, senmlPackSchema, senmlRecordSchema, type SenmlRecord } from './senml.ts';

/**
 * Records of a pack in their order. `bad` names those that are malformed, by index: of them only the base fields are
 * left, because these bind the records that follow.
 */
export interface ParsedPack {
  readonly records: readonly SenmlRecord[];
  readonly bad: ReadonlyMap<number, Reject>;
}

const none: ReadonlyMap<number, Reject> = new Map();

/** Line without check sum -> records, checked against the schema. A record that breaks it costs that record alone. */
export function parsePack(body: Uint8Array): ParsedPack | { readonly reject: Reject } {
  const text = lineText(body);
  if (text === null) return { reject: { code: 'wire-not-text', params: { bytes: body.length } } };
  const json = parseJson(text);
  return json === undefined ? { reject: notJson(text) } : checkPack(json);
}

/** What came as a pack, whatever its encoding was -> records, checked against the schema. */
export function checkPack(json: unknown): ParsedPack | { readonly reject: Reject } {
  if (isPlainPack(json)) return { records: json, bad: none };
  const whole = senmlPackSchema.safeParse(json);
  return whole.success ? { records: whole.data, bad: none } : mend(json);
}

/** `nan` and `inf` as C prints them: no JSON, but no reason to lose the rest of the pack. */
const notANumber = /:\s*[-+]?(?:nan|inf(?:inity)?)(?=\s*[,}])/gi;

function parseJson(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    const named = text.replace(notANumber, ':"not a number"');
    if (named === text) return undefined;
    try {
      return JSON.parse(named);
    } catch {
      return undefined;
    }
  }
}

function notJson(text: string): Reject {
  const start = text.trimStart().startsWith('[');
  const end = text.trimEnd().endsWith(']');
  const code = start === end ? 'wire-not-json' : 'wire-cut';
  return { code, params: { start: text.slice(0, 40), bytes: text.length } };
}

function mend(json: unknown): ParsedPack | { readonly reject: Reject } {
  if (!Array.isArray(json) || json.length === 0) return { reject: { code: 'wire-no-pack', params: {} } };
  const records: SenmlRecord[] = [];
  const bad = new Map<number, Reject>();
  for (const [index, item] of json.entries()) {
    const one = senmlRecordSchema.safeParse(item);
    if (one.success) {
      records.push(one.data);
      continue;
    }
    const issue = one.error.issues[0];
    const field = String(issue?.path[0] ?? '');
    const fields: object = typeof item === 'object' && item !== null ? item : {};
    const reject = recordReject(fields, index + 1, field, issue?.message ?? '');
    const base = senmlRecordSchema.safeParse(onlyBase(fields));
    if (field === '' || baseFields.includes(field) || !base.success) return { reject };
    records.push(base.data);
    bad.set(index, reject);
  }
  return { records, bad };
}

function onlyBase(record: object): object {
  return Object.fromEntries(Object.entries(record).filter(([key]) => baseFields.includes(key)));
}

function recordReject(record: object, number: number, field: string, message: string): Reject {
  const name = String(Object.entries(record).find(([key]) => key === 'n')?.[1] ?? '').slice(0, 64);
  if (field === 'v') return { code: 'wire-number', params: { channel: name || `record ${number}` } };
  return { code: 'wire-record', params: { record: number, field: field || 'record', what: message } };
}
