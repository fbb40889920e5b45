import { z } from 'zod';
import { acrossSchema, sideBySideSchema } from '../core/audit/across-schema.ts';
import {
  againRequestSchema,
  againSchema,
  drawnSpanSchema,
  exportJobSchema,
  lotSchema,
  madeShareSchema,
  newCommentSchema,
  newPersonSchema,
  newShareSchema,
  officeMeSchema,
  personSchema,
  runListSchema,
  runPageSchema,
  sealViewSchema,
  shareSchema,
  signInSchema,
  takenInSchema,
} from '../core/audit/page-schema.ts';
import { runFiles } from './audit-port.ts';
import {
  acrossQuerySchema,
  exportRequestSchema,
  fileQuerySchema,
  pickQuerySchema,
  runQuerySchema,
  spanQuerySchema,
} from './audit-routes.ts';
import { answer, json, refusal } from './openapi-parts.ts';

const refused = (...codes: number[]) => Object.fromEntries(codes.map((code) => [code, refusal]));

/** Parameters of a query, from the schema that checks it. */
function query(schema: z.ZodObject) {
  const whole = z.toJSONSchema(schema, { io: 'input', target: 'draft-2020-12' });
  const { properties = {} } = whole;
  return Object.entries(properties).map(([name, property]) => ({
    name,
    in: 'query',
    required: false,
    schema: property,
  }));
}
const path = (...names: string[]) =>
  names.map((name) => ({ name, in: 'path', required: true, schema: { type: 'string' } }));
const body = (schema: z.ZodType) => ({ required: true, content: json(schema, 'input') });
const file = (description: string, type: string) => ({ description, content: { [type]: {} } });
const security = [{ paired: [] }, { session: [] }];
const people = z.object({ people: z.array(personSchema) });
const links = z.object({ links: z.array(shareSchema) });
const done = z.object({ ok: z.boolean() });

/** The office's part of the HTTP interface: runs that are kept, people and links. */
export function officePaths(): Readonly<Record<string, unknown>> {
  return { ...runPaths(), ...manyPaths(), ...peoplePaths() };
}

function runPaths(): Record<string, unknown> {
  const one = (summary: string, schema: z.ZodType, more: object = {}) => ({
    summary,
    security,
    parameters: path('run'),
    responses: { 200: answer('Done', schema), ...refused(400, 401, 403, 404) },
    ...more,
  });
  return {
    '/api/runs/{run}': {
      get: one('One run: stages, visits, findings, comments. `looked` is null while it is looked at', runPageSchema),
    },
    '/api/runs/{run}/trace': {
      get: one(
        'Rows for drawing: smallest and largest of each bucket, in their order; no spike is left out',
        drawnSpanSchema,
        {
          parameters: [...path('run'), ...query(spanQuerySchema)],
        },
      ),
    },
    '/api/runs/{run}/seal': {
      get: one(
        'Hold the run against its chain and its sealed files now: intact, changed (and where), missing or unsigned',
        sealViewSchema,
      ),
    },
    '/api/runs/{run}/again': {
      post: one('Judge the run again with other settings or with hindsight, beside the original', againSchema, {
        requestBody: body(againRequestSchema),
      }),
    },
    '/api/runs/{run}/comments': {
      post: one('Comment, sign off, close or open a finding: beside the record. Role auditor', runPageSchema, {
        requestBody: body(newCommentSchema),
      }),
    },
    '/api/runs/{run}/files/{file}': {
      get: {
        summary: `A file of the run: ${runFiles.join(', ')}. Ranges of bytes are answered`,
        security,
        parameters: [...path('run', 'file'), ...query(fileQuerySchema)],
        responses: {
          200: file('The file', '*/*'),
          206: file('A part of it', '*/*'),
          ...refused(400, 401, 403, 404, 409),
        },
      },
    },
    '/api/runs/{run}/links': {
      get: one('Links that show this run. Role auditor', links),
      post: one(
        'A link that shows this run, read only, for some days. Its token is told once. Role auditor',
        madeShareSchema,
        {
          requestBody: body(newShareSchema),
        },
      ),
    },
    '/api/runs/{run}/links/{id}': {
      delete: one('End a link. Role auditor', links, { parameters: path('run', 'id') }),
    },
  };
}

function manyPaths(): Record<string, unknown> {
  const many = (summary: string, schema: z.ZodType, more: object) => ({
    summary,
    security,
    responses: { 200: answer('Done', schema), ...refused(400, 401, 403) },
    ...more,
  });
  return {
    '/api/runs': {
      get: many('Runs, by page: search, sort, filter', runListSchema, { parameters: query(runQuerySchema) }),
    },
    '/api/runs/by-lot': {
      get: many('Runs drawn by lot to be checked again; the same seed draws the same', lotSchema, {
        parameters: query(pickQuerySchema),
      }),
    },
    '/api/runs/across': {
      get: many('Many runs by group: distributions, control charts, kits that drift', acrossSchema, {
        parameters: query(acrossQuerySchema),
      }),
    },
    '/api/runs/side-by-side': {
      get: many('Up to twelve runs with all their figures', sideBySideSchema, {
        parameters: [{ name: 'runs', in: 'query', required: true, schema: { type: 'string' } }],
      }),
    },
    '/api/runs/import': {
      post: many('Take a zipped recording in; refused ones are told with their reason. Role auditor', takenInSchema, {
        parameters: [{ name: 'name', in: 'query', required: false, schema: { type: 'string' } }],
        requestBody: { required: true, content: { 'application/zip': {} } },
      }),
    },
    '/api/exports': {
      post: many('Pack copies of many runs; ask for the state by its id', exportJobSchema, {
        requestBody: body(exportRequestSchema),
      }),
    },
    '/api/exports/{id}': { get: many('How far the packing is', exportJobSchema, { parameters: path('id') }) },
    '/api/exports/{id}/runs.zip': {
      get: {
        summary: 'The packed copies; ranges of bytes are answered, so that a download can go on',
        security,
        parameters: path('id'),
        responses: {
          200: file('The archive', 'application/zip'),
          206: file('A part of it', 'application/zip'),
          ...refused(401, 403, 404, 409),
        },
      },
    },
  };
}

function peoplePaths(): Record<string, unknown> {
  return {
    '/api/office/me': { get: { summary: 'Who looks', responses: { 200: answer('Who', officeMeSchema) } } },
    '/api/office/sign-in': {
      post: {
        summary: 'Sign in; the answer sets a cookie',
        requestBody: body(signInSchema),
        responses: { 200: answer('Signed in', done), ...refused(400, 403, 429, 503) },
      },
    },
    '/api/office/session': {
      post: {
        summary: 'A cookie for a paired device, or for a link',
        requestBody: body(z.strictObject({ link: z.string().optional() })),
        responses: { 200: answer('Done', done), ...refused(400, 401, 403) },
      },
    },
    '/api/office/sign-out': { post: { summary: 'End the session', responses: { 200: answer('Done', done) } } },
    '/api/office/people': {
      get: {
        summary: 'Accounts. Role administrator',
        security,
        responses: { 200: answer('People', people), ...refused(401, 403) },
      },
      post: {
        summary: 'Add a person, or give a new password or role. Role administrator',
        security,
        requestBody: body(newPersonSchema),
        responses: { 200: answer('People', people), ...refused(400, 401, 403) },
      },
    },
    '/api/office/people/{name}': {
      delete: {
        summary: 'Take a person away. Role administrator',
        security,
        parameters: path('name'),
        responses: { 200: answer('People', people), ...refused(401, 403, 404) },
      },
    },
  };
}
