import { z } from 'zod';
import { acrossSchema, sideBySideSchema } from '../../src/core/audit/across-schema.ts';
import {
  againSchema,
  drawnSpanSchema,
  exportJobSchema,
  lotSchema,
  madeShareSchema,
  officeMeSchema,
  personSchema,
  type RoleName,
  runListSchema,
  runPageSchema,
  sealViewSchema,
  shareSchema,
  takenInSchema,
} from '../../src/core/audit/page-schema.ts';
import { pairedSchema, refusalSchema } from '../../src/server/protocol.ts';

/** What was refused, in the bridge's own words. */
export class RefusedByBridge extends Error {
  readonly status: number;
  readonly code: string;

  constructor(status: number, code: string, text: string) {
    super(text);
    this.status = status;
    this.code = code;
  }
}

type Query = Readonly<Record<string, string | number | boolean | undefined>>;

function address(path: string, query: Query = {}): string {
  const words = Object.entries(query).flatMap(([name, value]) =>
    value === undefined || value === '' || value === false
      ? []
      : [`${name}=${encodeURIComponent(value === true ? '1' : String(value))}`],
  );
  return words.length === 0 ? path : `${path}?${words.join('&')}`;
}

/** One call of the HTTP interface (docs/api.md). Throws RefusedByBridge with a sentence for people. */
async function call<S extends z.ZodType>(schema: S, path: string, init: RequestInit = {}): Promise<z.output<S>> {
  let answer: Response;
  try {
    answer = await fetch(path, init);
  } catch (error) {
    if (error instanceof DOMException && error.name === 'AbortError') throw error;
    throw new RefusedByBridge(0, 'no-answer', 'The bridge does not answer. Is it running, and are you in its network?');
  }
  const value: unknown = await answer.json().catch(() => null);
  if (answer.ok) return schema.parse(value);
  const refusal = refusalSchema.safeParse(value);
  if (refusal.success) throw new RefusedByBridge(answer.status, refusal.data.code, refusal.data.text);
  throw new RefusedByBridge(answer.status, 'unknown', `The bridge answered ${answer.status}.`);
}

const post = (body: unknown, headers: Record<string, string> = {}): RequestInit => ({
  method: 'POST',
  headers: { 'content-type': 'application/json', ...headers },
  body: JSON.stringify(body),
});
const ok = z.object({ ok: z.boolean() });
const run = (runId: string, more = ''): string => `/api/runs/${encodeURIComponent(runId)}${more}`;

export interface RunsQuery {
  readonly search?: string;
  readonly sort?: string;
  readonly order?: 'asc' | 'desc';
  readonly from?: number;
  readonly count?: number;
  readonly seal?: string | undefined;
  readonly open?: boolean;
  readonly since?: string | undefined;
  readonly before?: string | undefined;
}

export interface NewComment {
  readonly kind: 'comment' | 'sign-off' | 'close' | 'reopen';
  readonly finding?: string;
  readonly text: string;
  readonly by: string;
}

/** The typed client of the office's part of the HTTP interface. */
export const bridge = {
  me: () => call(officeMeSchema, '/api/office/me'),
  signIn: (name: string, password: string) => call(ok, '/api/office/sign-in', post({ name, password })),
  signOut: () => call(ok, '/api/office/sign-out', post({})),
  /** A cookie for a device that was paired beside the rig. */
  useDevice: (token: string) => call(ok, '/api/office/session', post({}, { authorization: `Bearer ${token}` })),
  useLink: (link: string) => call(ok, '/api/office/session', post({ link })),
  pair: (code: string) => call(pairedSchema, '/api/pair', post({ code })),

  people: () => call(z.object({ people: z.array(personSchema) }), '/api/office/people'),
  addPerson: (name: string, role: RoleName, password: string) =>
    call(z.object({ people: z.array(personSchema) }), '/api/office/people', post({ name, role, password })),
  removePerson: (name: string) =>
    call(z.object({ people: z.array(personSchema) }), `/api/office/people/${encodeURIComponent(name)}`, {
      method: 'DELETE',
    }),

  runs: (query: RunsQuery, signal?: AbortSignal) =>
    call(runListSchema, address('/api/runs', { ...query }), signal ? { signal } : {}),
  byLot: (query: RunsQuery & { seed?: string }) => call(lotSchema, address('/api/runs/by-lot', { ...query })),
  across: (query: RunsQuery & { by: string; measure: string }) =>
    call(acrossSchema, address('/api/runs/across', { ...query })),
  sideBySide: (runs: readonly string[]) =>
    call(sideBySideSchema, address('/api/runs/side-by-side', { runs: runs.join(',') })),
  run: (runId: string) => call(runPageSchema, run(runId)),
  trace: (runId: string, fromS: number, toS: number, buckets: number, signal?: AbortSignal) =>
    call(
      drawnSpanSchema,
      address(run(runId, '/trace'), { fromS: fromS.toFixed(3), toS: toS.toFixed(3), buckets }),
      signal ? { signal } : {},
    ),
  seal: (runId: string) => call(sealViewSchema, run(runId, '/seal')),
  again: (runId: string, settings: Record<string, number>, hindsight: boolean) =>
    call(againSchema, run(runId, '/again'), post({ settings, hindsight })),
  comment: (runId: string, comment: NewComment) => call(runPageSchema, run(runId, '/comments'), post(comment)),
  links: (runId: string) => call(z.object({ links: z.array(shareSchema) }), run(runId, '/links')),
  addLink: (runId: string, days: number) => call(madeShareSchema, run(runId, '/links'), post({ days })),
  removeLink: (runId: string, id: string) =>
    call(z.object({ links: z.array(shareSchema) }), run(runId, `/links/${id}`), { method: 'DELETE' }),

  takeIn: (file: File) =>
    call(takenInSchema, address('/api/runs/import', { name: file.name }), {
      method: 'POST',
      headers: { 'content-type': 'application/zip' },
      body: file,
    }),
  startExport: (runs: readonly string[]) => call(exportJobSchema, '/api/exports', post({ runs })),
  exportJob: (id: string) => call(exportJobSchema, `/api/exports/${id}`),
};

/** Address of a file of a run, for a link or a picture. */
export function fileAddress(runId: string, file: string, query: Query = {}): string {
  return address(run(runId, `/files/${file}`), query);
}
export const exportAddress = (id: string): string => `/api/exports/${id}/runs.zip`;
