import { randomBytes } from 'node:crypto';
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { z } from 'zod';
import { groupings } from '../core/audit/across.ts';
import { measures } from '../core/audit/measures.ts';
import { againRequestSchema, newCommentSchema, sealStates, sortNames } from '../core/audit/page-schema.ts';
import { dayNumber } from '../core/audit/wall-time.ts';
import type { Access, Who } from './access.ts';
import { type AuditPort, runFiles, type RunFile } from './audit-port.ts';
import { of } from './limits.ts';
import { parseOr400, Refused } from './refuse.ts';
import { sendDownload } from './send-file.ts';

const whole = (least: number, most: number) =>
  z
    .string()
    .regex(/^\d{1,9}$/, 'expected a whole number')
    .transform(Number)
    .pipe(z.number().min(least).max(most));
const seconds = z
  .string()
  .regex(/^-?\d{1,12}(\.\d{1,20})?$/, 'expected seconds')
  .transform(Number);
const names = z
  .string()
  .max(400)
  .default('')
  .transform((text) => text.split(',').filter(Boolean));
const dayExpected = 'expected a day or a month, like 2026-03 or 2026-03-04';
const day = z
  .string()
  .regex(/^\d{4}-\d{2}(-\d{2})?$/, dayExpected)
  .refine((text) => dayNumber(text.padEnd(10, '-01')) !== null, dayExpected);

export const runQuerySchema = z.object({
  search: z.string().max(400).default(''),
  sort: z.enum(sortNames).default('started'),
  order: z.enum(['asc', 'desc']).default('desc'),
  from: whole(0, 100_000_000).default(0),
  count: whole(1, 200).default(50),
  seal: z.enum(sealStates).optional(),
  open: z.literal('1').optional(),
  since: day.optional(),
  before: day.optional(),
});
export const spanQuerySchema = z.object({
  fromS: seconds.default(0),
  toS: seconds.default(1e9),
  buckets: whole(2, 20_000).default(1000),
  channels: names,
});
export const fileQuerySchema = z.object({
  paper: z.enum(['a4', 'letter']).default('a4'),
  fromS: seconds.optional(),
  toS: seconds.optional(),
  channels: names,
});
const measureNames = Object.keys(measures);
export const acrossQuerySchema = runQuerySchema.extend({
  by: z.enum(groupings).default('month'),
  measure: z.enum(measureNames).default('clearAfterS'),
});
export const pickQuerySchema = runQuerySchema.extend({
  count: whole(1, 50).default(5),
  seed: z.string().max(100).default(''),
});
export const exportRequestSchema = z.strictObject({ runs: z.array(z.string().min(1).max(128)).min(1).max(20_000) });

function queryOf(request: FastifyRequest) {
  const { order, open, ...rest } = parseOr400(runQuerySchema, request.query, 'query');
  return { ...rest, descending: order === 'desc', onlyOpen: open === '1' };
}

const runParams = z.object({ run: z.string().min(1).max(200) });

export function addAuditRoutes(app: FastifyInstance, audit: AuditPort, access: Access): void {
  /** The run that a request names, for one who may see it. Throws `Refused`. */
  const runOf = (request: FastifyRequest, role: Who['role'] = 'engineer'): { runId: string; who: Who } => {
    const { run } = parseOr400(runParams, request.params, 'path');
    const who = access.need(request, role, run);
    if (!audit.has(run)) throw new Refused(404, 'office-no-run', { run: run.slice(0, 128) });
    return { runId: run, who };
  };
  const all = (request: FastifyRequest, role: Who['role'] = 'engineer'): Who => access.need(request, role);

  app.get('/api/runs', of('look'), (request) => {
    all(request);
    return audit.list(queryOf(request));
  });
  app.get('/api/runs/by-lot', of('look'), (request) => {
    all(request);
    const { seed, order, open, ...query } = parseOr400(pickQuerySchema, request.query, 'query');
    const wanted = { ...query, descending: order === 'desc', onlyOpen: open === '1' };
    // Told with the lot, so that the very same can be drawn again.
    return audit.pick(wanted, query.count, seed || randomBytes(6).toString('hex'));
  });
  app.get('/api/runs/across', of('dear'), (request) => {
    all(request);
    const { by, measure, order, open, ...query } = parseOr400(acrossQuerySchema, request.query, 'query');
    return audit.across({ ...query, descending: order === 'desc', onlyOpen: open === '1' }, by, measure);
  });
  app.get('/api/runs/side-by-side', of('look'), (request) => {
    all(request);
    const { runs } = parseOr400(z.object({ runs: z.string().max(4000) }), request.query, 'query');
    return audit.sideBySide(runs.split(',').filter(Boolean).slice(0, 12));
  });
  app.get('/api/runs/:run', of('look'), (request) => audit.page(runOf(request).runId));
  app.get('/api/runs/:run/trace', of('look'), (request) => {
    const { runId } = runOf(request);
    const { fromS, toS, buckets, channels } = parseOr400(spanQuerySchema, request.query, 'query');
    if (toS <= fromS) throw new Refused(400, 'bad-field', { where: 'query.toS', what: 'expected more than fromS' });
    return audit.trace(runId, channels, fromS, toS, buckets);
  });
  app.get('/api/runs/:run/seal', of('dear'), (request) => audit.seal(runOf(request).runId));
  app.post('/api/runs/:run/again', of('dear'), async (request) => {
    const { runId } = runOf(request);
    const wanted = parseOr400(againRequestSchema, request.body ?? {}, 'body');
    try {
      return await audit.again(runId, wanted);
    } catch (error) {
      if (!(error instanceof z.ZodError)) throw error;
      const issue = error.issues[0];
      throw new Refused(400, 'office-settings', {
        what: `${issue?.path.join('.') ?? ''} ${issue?.message ?? ''}`.trim(),
      });
    }
  });
  app.post('/api/runs/:run/comments', of('write'), (request) => {
    const { runId, who } = runOf(request, 'auditor');
    const { kind, finding, text, by } = parseOr400(newCommentSchema, request.body, 'body');
    // A person who signed in is named by the account; others by what they typed, and by their device.
    if (who.by !== 'person' && by === '') throw new Refused(400, 'office-no-name');
    const named = who.by === 'person' ? who.name : `${by} (${who.name})`;
    audit.comment(runId, { kind, finding, text, by: named });
    return audit.page(runId);
  });
  app.get('/api/runs/:run/files/:file', of('dear'), async (request, reply) => {
    const { runId } = runOf(request);
    const { file } = parseOr400(z.object({ file: z.string().max(40) }), request.params, 'path');
    const options = parseOr400(fileQuerySchema, request.query, 'query');
    const known = runFiles.find((name): name is RunFile => name === file);
    if (known === undefined) throw new Refused(404, 'office-no-file', { file, known: runFiles.join(', ') });
    return sendDownload(request, reply, await audit.file(runId, known, options));
  });
  addBulkRoutes(app, audit, all);
}

function addBulkRoutes(
  app: FastifyInstance,
  audit: AuditPort,
  all: (request: FastifyRequest, role?: Who['role']) => Who,
): void {
  // Apart, so that no other route takes a body of this kind.
  void app.register((archives: FastifyInstance, _options: object, done: () => void) => {
    addImport(archives, audit, all);
    done();
  });
  // Asked before the body is read: nobody fills the memory who may not see the runs.
  const first = (request: FastifyRequest, _reply: FastifyReply, done: () => void): void => {
    all(request);
    done();
  };
  app.post('/api/exports', { bodyLimit: 4 << 20, onRequest: first, ...of('dear') }, (request) => {
    return audit.startExport(parseOr400(exportRequestSchema, request.body, 'body').runs);
  });
  const exportParams = z.object({ id: z.string().regex(/^[\w-]{6,40}$/) });
  app.get('/api/exports/:id', of('look'), (request) => {
    all(request);
    const job = audit.exportJob(parseOr400(exportParams, request.params, 'path').id);
    if (job === null) throw new Refused(404, 'office-no-export');
    return job;
  });
  app.get('/api/exports/:id/runs.zip', of('dear'), (request, reply) => {
    all(request);
    const { id } = parseOr400(exportParams, request.params, 'path');
    const job = audit.exportJob(id);
    if (job === null) throw new Refused(404, 'office-no-export');
    const file = audit.exportFile(id);
    if (file === null) throw new Refused(409, 'office-export-working');
    return sendDownload(request, reply, file);
  });
}

function addImport(
  app: FastifyInstance,
  audit: AuditPort,
  all: (request: FastifyRequest, role?: Who['role']) => Who,
): void {
  // The archive is not read into memory: the port takes it piece by piece.
  app.addContentTypeParser('application/zip', (_request, payload, done) => done(null, payload));
  app.post('/api/runs/import', of('write'), async (request) => {
    all(request, 'auditor');
    const { name } = parseOr400(z.object({ name: z.string().max(200).default('upload.zip') }), request.query, 'query');
    const body = z.custom<AsyncIterable<Uint8Array>>(
      (value) => typeof value === 'object' && value !== null && Symbol.asyncIterator in value,
      'expected a zip archive, with the header content-type: application/zip',
    );
    return await audit.takeIn(name, parseOr400(body, request.body, 'body'));
  });
}
