import { basename } from 'node:path';
import { z } from 'zod';
import { contextSchema, type RunContext } from '../core/job/context.ts';
import { Problem } from '../core/message/problem.ts';
import type { RunHead } from '../store/store.ts';
import { wholeText } from './text-file.ts';

const maxBytes = 16 << 20;

/** A JSON file as a value, checked by `schema`. Throws Problem with line, or with the path of the field. */
export function readJson<T>(
  path: string,
  schema: z.ZodType<T>,
): { value: T; raw: unknown; bytes: number; sha256: string } {
  const file = basename(path);
  const { text, bytes, sha256 } = wholeText(path, maxBytes);
  const raw = parseJson(text, file);
  const checked = schema.safeParse(raw);
  if (checked.success) return { value: checked.data, raw, bytes, sha256 };
  const issue = checked.error.issues[0];
  const path_ = issue?.path ?? [];
  const found = path_.reduce<unknown>(step, raw);
  // What was received is told below, as it stands in the file.
  const detail = (issue?.message ?? 'invalid').replace(/, received .*$/, '');
  const params = { path: path_.join('.') || '(whole)', detail, found: short(found) };
  throw new Problem('recording-context', { file, ...params });
}

function step(value: unknown, key: PropertyKey): unknown {
  if (typeof value !== 'object' || value === null) return undefined;
  return new Map<PropertyKey, unknown>(Object.entries(value)).get(String(key));
}

function short(value: unknown): string {
  return value === undefined ? 'nothing' : JSON.stringify(value).slice(0, 80);
}

function parseJson(text: string, file: string): unknown {
  try {
    return JSON.parse(text);
  } catch (error) {
    const detail = error instanceof Error ? error.message.replace(/\s+/g, ' ') : String(error);
    const at = Number(/position (\d+)/.exec(detail)?.[1] ?? Number.NaN);
    const line = Number.isNaN(at) ? 1 : text.slice(0, at).split('\n').length;
    throw new Problem('recording-json', { file, line, detail: detail.slice(0, 160) }, { cause: error });
  }
}

/** context.json, emitters' ids unique. */
export function readContext(path: string): { context: RunContext; raw: unknown; bytes: number; sha256: string } {
  const { value, raw, bytes, sha256 } = readJson(path, contextSchema);
  const seen = new Set<string>();
  for (const [i, { id }] of value.emitters.entries()) {
    if (seen.has(id)) {
      const params = { path: `emitters.${i}.id`, detail: 'this id stands twice', found: JSON.stringify(id) };
      throw new Problem('recording-context', { file: basename(path), ...params });
    }
    seen.add(id);
  }
  return { context: value, raw, bytes, sha256 };
}

/** What context.json says of a run: its context, and who it is. */
export function contextOfRun(head: RunHead): RunContext {
  const { runId, startedAt, title, simulated, context } = head;
  return { ...context, run_id: runId, started_at: startedAt, title, simulated };
}
