import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { z } from 'zod';
import type { Auth } from './auth.ts';
import { of } from './limits.ts';
import type { Refusal } from './port.ts';
import { type commentSchema, type RecordState, type sealedSchema, sealRequestSchema } from './protocol.ts';
import { parseOr400, Refused } from './refuse.ts';

export const reportQuerySchema = z.object({ paper: z.enum(['a4', 'letter']).default('a4') });
export const labelName = 'label.pdf';
export const commentRequestSchema = z.object({
  by: z.string().trim().min(1).max(200),
  text: z.string().trim().min(1).max(2000),
});
export const photoQuerySchema = z.object({
  /** Made by the page once per photo, so that sending it twice has the effect of once. */
  id: z.string().min(8).max(64),
  /** What it shows. */
  what: z.string().max(200).default(''),
  emitter: z.string().max(64).default(''),
});
const photoNameSchema = z.object({ name: z.string().regex(/^photo-[0-9a-f]{16}\.(jpg|png)$/, 'no photo of this run') });

/** Largest body of a photo; what is kept is held against the same limit in src/recording. */
const photoBodyBytes = 8_000_000;

export interface PhotoSent {
  readonly id: string;
  readonly what: string;
  readonly emitter: string;
  readonly bytes: Uint8Array;
}

/** The record of the run under way; given by src/run. */
export interface RecordPort {
  /** The report as it stands, a draft until the run is sealed. */
  reportPdf(paper: 'a4' | 'letter'): Promise<Uint8Array>;
  labelPdf(): Promise<Uint8Array>;
  /** Ends the run's record for good. `who` is the paired device or 'loopback'. */
  seal(by: string, who: string, unfinished: boolean): z.infer<typeof sealedSchema> | Refusal;
  /** Key, seal, what a check of the sealed record found, comments. */
  state(): RecordState | Refusal;
  /** Puts a comment beside the sealed record. */
  comment(by: string, text: string): z.infer<typeof commentSchema> | Refusal;
  /** Keeps a photo and tells the record of it. */
  addPhoto(photo: PhotoSent, who: string): { file: string; sha256: string } | Refusal;
  photo(name: string): { bytes: Uint8Array; type: string } | null;
}

function sendPdf(reply: FastifyReply, name: string, pdf: Uint8Array): FastifyReply {
  return reply
    .header('content-type', 'application/pdf')
    .header('content-disposition', `inline; filename="${name}"`)
    .send(Buffer.from(pdf));
}

function answerOr<T extends object>(reply: FastifyReply, answer: T | Refusal): FastifyReply {
  if (!('status' in answer)) return reply.send(answer);
  return reply.code(answer.status).send({ code: answer.code, text: answer.text, params: answer.params });
}

/** Names, addresses and pictures of a home are in it: open to devices that are paired, and to people who signed in. */
export function addRecordRoutes(
  app: FastifyInstance,
  record: RecordPort,
  auth: Auth,
  mayLook: (request: FastifyRequest) => boolean,
): void {
  const writer = (request: FastifyRequest): string => {
    const who = auth.who(request.ip, request.headers.authorization);
    if (who === null) throw new Refused(401, 'not-paired');
    return who;
  };
  const looker = {
    onRequest(request: FastifyRequest, _reply: FastifyReply, done: () => void): void {
      if (!mayLook(request)) throw new Refused(401, 'not-paired');
      done();
    },
  };
  app.get('/api/runs/current/report.pdf', { ...looker, ...of('dear') }, async (request, reply) => {
    const { paper } = parseOr400(reportQuerySchema, request.query, 'query');
    return sendPdf(reply, 'report.pdf', await record.reportPdf(paper));
  });
  app.get('/api/runs/current/label.pdf', { ...looker, ...of('dear') }, async (_request, reply) =>
    sendPdf(reply, labelName, await record.labelPdf()),
  );
  app.get('/api/runs/current/record', { ...looker, ...of('dear') }, (_request, reply) =>
    answerOr(reply, record.state()),
  );
  app.post('/api/runs/current/seal', of('dear'), (request, reply) => {
    const who = writer(request);
    const { by, unfinished } = parseOr400(sealRequestSchema, request.body, 'body');
    return answerOr(reply, record.seal(by, who, unfinished));
  });
  app.post('/api/runs/current/comments', of('write'), (request, reply) => {
    writer(request);
    const { by, text } = parseOr400(commentRequestSchema, request.body, 'body');
    return answerOr(reply, record.comment(by, text));
  });
  // Apart, so that no other route takes bodies of these kinds and this size.
  void app.register((photos: FastifyInstance, _options: object, done: () => void) => {
    addPhotoRoutes(photos, record, writer, looker);
    done();
  });
}

function addPhotoRoutes(
  app: FastifyInstance,
  record: RecordPort,
  writer: (request: FastifyRequest) => string,
  looker: { onRequest(request: FastifyRequest, reply: FastifyReply, done: () => void): void },
): void {
  app.addContentTypeParser(
    ['image/jpeg', 'image/png', 'application/octet-stream'],
    { parseAs: 'buffer', bodyLimit: photoBodyBytes },
    (_request, body, done) => done(null, body),
  );
  // Asked before the body is read: nobody fills the memory who may not write.
  const first = (request: FastifyRequest, _reply: FastifyReply, done: () => void): void => {
    writer(request);
    done();
  };
  const photo = { bodyLimit: photoBodyBytes, onRequest: first, ...of('write') };
  app.post('/api/runs/current/photos', photo, (request, reply) => {
    const who = writer(request);
    const query = parseOr400(photoQuerySchema, request.query, 'query');
    if (!Buffer.isBuffer(request.body)) throw new Refused(415, 'photo-kind', { begins: 'no picture' });
    return answerOr(reply, record.addPhoto({ ...query, bytes: request.body }, who));
  });
  app.get('/api/runs/current/photos/:name', { ...looker, ...of('look') }, (request, reply) => {
    const { name } = parseOr400(photoNameSchema, request.params, 'path');
    const found = record.photo(name);
    if (!found) throw new Refused(404, 'not-found', { path: `photo ${name}` });
    return reply.header('content-type', found.type).send(Buffer.from(found.bytes));
  });
}
