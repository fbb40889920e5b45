import { z } from 'zod';
import { officePaths } from './openapi-office.ts';
import {
  liveMessageSchema,
  meSchema,
  pairedSchema,
  pairSchema,
  postEventSchema,
  postedEventSchema,
  reachSchema,
  runViewSchema,
  traceAnswerSchema,
  commentSchema,
  photoKeptSchema,
  recordStateSchema,
  sealedSchema,
  sealRequestSchema,
} from './protocol.ts';
import { benchPaths } from './bench-openapi.ts';
import { answer, json, number, refusal } from './openapi-parts.ts';
import { commentRequestSchema } from './record-routes.ts';

/** The description of the HTTP interface, made from the very schemas that check it. */
export function openApi(): Readonly<Record<string, unknown>> {
  return {
    openapi: '3.1.0',
    info: {
      title: 'Limpid bridge',
      version: '1',
      description:
        'Viewing is open on the local network; writing needs pairing, except from the machine of the bridge.',
    },
    components: {
      securitySchemes: {
        paired: { type: 'http', scheme: 'bearer' },
        session: { type: 'apiKey', in: 'cookie', name: 'limpid' },
      },
    },
    paths: {
      '/api/reach': {
        get: {
          summary: 'How this bridge is reached by https',
          responses: { 200: answer('Port and fingerprint, or null', reachSchema) },
        },
      },
      '/api/view': { get: { summary: 'The run as it stands', responses: { 200: answer('The run', runViewSchema) } } },
      '/api/trace': {
        get: {
          summary: 'Rows for drawing, exact or as minimum and maximum per column',
          parameters: [
            number('fromS', 'Run-clock seconds, default 0'),
            number('toS', 'Run-clock seconds, default now'),
            number('points', 'About how many rows at most, default 20000'),
          ],
          responses: { 200: answer('Rows', traceAnswerSchema), 400: refusal },
        },
      },
      '/api/live': {
        get: {
          summary: 'Server-sent events; id is <epoch>.<seq>; resume by Last-Event-ID or ?after=',
          parameters: [
            { name: 'after', in: 'query', required: false, schema: { type: 'string' } },
            { name: 'Last-Event-ID', in: 'header', required: false, schema: { type: 'string' } },
          ],
          responses: {
            200: {
              description: 'One event for each message, named by its type',
              content: { 'text/event-stream': { schema: z.toJSONSchema(liveMessageSchema) } },
            },
            503: refusal,
          },
        },
      },
      '/api/events': {
        post: {
          summary: 'Record an event; the answer comes after it is committed and synced',
          security: [{ paired: [] }],
          requestBody: { required: true, content: json(postEventSchema, 'input') },
          responses: {
            200: answer('Committed', postedEventSchema),
            400: refusal,
            401: refusal,
            403: refusal,
            409: refusal,
            413: refusal,
          },
        },
      },
      '/api/pair': {
        post: {
          summary: 'Pair this device by the code on the console of the bridge',
          requestBody: { required: true, content: json(pairSchema, 'input') },
          responses: { 200: answer('Paired', pairedSchema), 400: refusal, 403: refusal, 429: refusal },
        },
      },
      '/api/me': { get: { summary: 'What this device may do', responses: { 200: answer('Rights', meSchema) } } },
      ...benchPaths(),
      '/api/runs/current/report.pdf': {
        get: {
          summary: 'The report of the run as it stands; a draft until it is sealed',
          parameters: [{ name: 'paper', in: 'query', required: false, schema: { enum: ['a4', 'letter'] } }],
          security: [{ paired: [] }],
          responses: {
            200: { description: 'The report', content: { 'application/pdf': {} } },
            400: refusal,
            401: refusal,
          },
        },
      },
      '/api/runs/current/label.pdf': {
        get: {
          summary: 'The label for beside the heat source',
          security: [{ paired: [] }],
          responses: { 200: { description: 'The label', content: { 'application/pdf': {} } }, 401: refusal },
        },
      },
      '/api/runs/current/record': {
        get: {
          summary: 'Key, seal, what a check of the sealed record found, comments',
          security: [{ paired: [] }],
          responses: { 200: answer('The record', recordStateSchema), 401: refusal, 503: refusal },
        },
      },
      '/api/runs/current/comments': {
        post: {
          summary: 'Put a comment beside the sealed record',
          security: [{ paired: [] }],
          requestBody: { required: true, content: json(commentRequestSchema, 'input') },
          responses: { 200: answer('Kept', commentSchema), 400: refusal, 401: refusal, 409: refusal },
        },
      },
      '/api/runs/current/photos': {
        post: {
          summary: 'Keep a photo, JPEG or PNG, at most 8 MB; the record holds its hash',
          security: [{ paired: [] }],
          parameters: ['id', 'what', 'emitter'].map((name) => ({
            name,
            in: 'query',
            required: name === 'id',
            schema: { type: 'string' },
          })),
          requestBody: { required: true, content: { 'image/jpeg': {}, 'image/png': {} } },
          responses: { 200: answer('Kept', photoKeptSchema), 400: refusal, 401: refusal, 409: refusal, 413: refusal },
        },
      },
      '/api/runs/current/photos/{name}': {
        get: {
          summary: 'A photo of the run',
          parameters: [{ name: 'name', in: 'path', required: true, schema: { type: 'string' } }],
          responses: {
            200: { description: 'The photo', content: { 'image/jpeg': {}, 'image/png': {} } },
            401: refusal,
            404: refusal,
          },
        },
      },
      '/api/runs/current/seal': {
        post: {
          summary: 'Sign the record of the run; it takes nothing more',
          security: [{ paired: [] }],
          requestBody: { required: true, content: json(sealRequestSchema, 'input') },
          responses: { 200: answer('Sealed', sealedSchema), 400: refusal, 401: refusal, 409: refusal, 503: refusal },
        },
      },
      ...officePaths(),
      '/healthz': { get: { summary: 'Whether the server answers', responses: { 200: { description: 'It does' } } } },
    },
  };
}
