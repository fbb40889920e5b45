import type { FastifyInstance } from 'fastify';
import { z } from 'zod';
import { say } from '../core/message/message.ts';
import type { Auth } from './auth.ts';
import { openApi } from './openapi.ts';
import type { BridgePort } from './port.ts';
import { pairSchema, postEventSchema } from './protocol.ts';
import type { Push } from './push.ts';
import { parseOr400, Refused } from './refuse.ts';

/** As many decimals as a number of the page's can have: its run clock is not rounded. */
const figure = z
  .string()
  .regex(/^\d{1,12}(\.\d{1,20})?$/, 'expected a number, not negative')
  .transform(Number);
export const traceQuerySchema = z.object({
  fromS: figure.default(0),
  toS: figure.default(1e12),
  points: figure.pipe(z.number().int().min(2).max(100_000)).default(20_000),
});
const liveQuerySchema = z.object({ after: z.string().max(64).optional() });

export interface Rooms {
  readonly bridge: BridgePort;
  readonly push: Push;
  readonly auth: Auth;
  readonly headers: Readonly<Record<string, string>>;
  readonly pages: number;
}

export function addReadRoutes(app: FastifyInstance, { bridge, push, auth }: Rooms): void {
  const description = openApi();
  app.get('/healthz', () => ({ ok: true }));
  app.get('/api/openapi.json', () => description);
  app.get('/api/view', () => bridge.view());
  app.get('/api/trace', (request) => {
    const { fromS, toS, points } = parseOr400(traceQuerySchema, request.query, 'query');
    // The place in the stream is read in the same breath as the rows, so that resuming after it leaves no gap.
    return { ...bridge.trace(fromS, toS, points), at: push.at() };
  });
  app.get('/api/me', (request) => {
    const who = auth.who(request.ip, request.headers.authorization);
    const code = who === null ? 'not-paired' : who === 'loopback' ? 'may-write-here' : 'may-write-paired';
    return { mayWrite: who !== null, why: say({ code, params: {} }), who };
  });
}

export function addLiveRoute(app: FastifyInstance, { push, headers, pages }: Rooms): void {
  app.get('/api/live', (request, reply) => {
    const { after } = parseOr400(liveQuerySchema, request.query, 'query');
    const lastId = request.headers['last-event-id'];
    if (push.pages >= pages) throw new Refused(503, 'too-many-pages', { limit: pages }, 10);
    reply.hijack();
    reply.raw.writeHead(200, {
      ...headers,
      'content-type': 'text/event-stream; charset=utf-8',
      'cache-control': 'no-store',
      'x-accel-buffering': 'no',
    });
    // The browser's own Last-Event-ID is newer than the address that the page was opened with.
    push.attach(reply.raw, typeof lastId === 'string' ? lastId : after);
  });
}

export function addWriteRoutes(app: FastifyInstance, { bridge, auth }: Rooms): void {
  app.post('/api/pair', (request) => {
    const { code } = parseOr400(pairSchema, request.body, 'body');
    return { token: auth.pair(code, request.ip) };
  });
  app.post('/api/events', async (request, reply) => {
    const who = auth.who(request.ip, request.headers.authorization);
    if (who === null) throw new Refused(401, 'not-paired');
    const event = parseOr400(postEventSchema, request.body, 'body');
    const posted = await bridge.post(event, who);
    if ('status' in posted)
      return reply.code(posted.status).send({ code: posted.code, text: posted.text, params: posted.params });
    return { id: event.id, ...posted };
  });
}
