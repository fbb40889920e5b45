import type { FastifyInstance } from 'fastify';
import { z } from 'zod';
import { say } from '../core/message/message.ts';
import { type Auth, isLoopback } from './auth.ts';
import { cookieOf, setDevice } from './cookie.ts';
import { clientOf, type Limits, of } from './limits.ts';
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
  readonly limits: Limits;
}

export function addReadRoutes(app: FastifyInstance, { bridge, push, auth }: Rooms): void {
  const description = openApi();
  app.get('/healthz', of('look'), () => ({ ok: true }));
  app.get('/api/openapi.json', of('look'), () => description);
  app.get('/api/view', of('look'), () => bridge.view());
  app.get('/api/trace', of('look'), (request) => {
    const { fromS, toS, points } = parseOr400(traceQuerySchema, request.query, 'query');
    // The place in the stream is read in the same breath as the rows, so that resuming after it leaves no gap.
    return { ...bridge.trace(fromS, toS, points), at: push.at() };
  });
  app.get('/api/me', of('look'), (request, reply) => {
    const authorization = request.headers.authorization;
    const who = auth.who(request.ip, authorization);
    if (who !== null && authorization !== undefined && cookieOf(request) === null)
      reply.header('set-cookie', setDevice(request, authorization.replace(/^Bearer /, '').trim()));
    const code = who === null ? 'not-paired' : who === 'loopback' ? 'may-write-here' : 'may-write-paired';
    return { mayWrite: who !== null, why: say({ code, params: {} }), who };
  });
}

/** Pages that one address may have open, and the share of all that is kept for devices that are known. */
const pagesOfOne = 16;
const keptForKnown = 0.25;

export function addLiveRoute(app: FastifyInstance, { push, headers, pages, limits }: Rooms): void {
  const open = new Map<string, number>();
  app.get('/api/live', { ...of('live'), exposeHeadRoute: false }, (request, reply) => {
    const { after } = parseOr400(liveQuerySchema, request.query, 'query');
    const lastId = request.headers['last-event-id'];
    const most = limits.isKnown(request) ? pages : Math.floor(pages * (1 - keptForKnown));
    if (push.pages >= most) throw new Refused(503, 'too-many-pages', { limit: most }, 10);
    const client = clientOf(request.ip);
    const count = open.get(client) ?? 0;
    if (count >= pagesOfOne && !isLoopback(request.ip))
      throw new Refused(503, 'too-many-pages', { limit: pagesOfOne }, 10);
    open.set(client, count + 1);
    reply.raw.once('close', () => {
      const left = (open.get(client) ?? 1) - 1;
      if (left > 0) open.set(client, left);
      else open.delete(client);
    });
    reply.hijack();
    reply.raw.writeHead(200, {
      ...headers,
      'content-type': 'text/event-stream; charset=utf-8',
      'x-accel-buffering': 'no',
    });
    // The browser's own Last-Event-ID is newer than the address that the page was opened with.
    push.attach(reply.raw, typeof lastId === 'string' ? lastId : after);
  });
}

export function addWriteRoutes(app: FastifyInstance, { bridge, auth }: Rooms): void {
  app.post('/api/pair', of('secret'), (request, reply) => {
    const { code } = parseOr400(pairSchema, request.body, 'body');
    const token = auth.pair(code, request.ip);
    // A sign-in that holds stays: it may do more.
    if (cookieOf(request)?.kind !== 's') reply.header('set-cookie', setDevice(request, token));
    return { token };
  });
  app.post('/api/events', of('write'), async (request, reply) => {
    const who = auth.who(request.ip, request.headers.authorization);
    if (who === null) throw new Refused(401, 'not-paired');
    const event = parseOr400(postEventSchema, request.body, 'body');
    const posted = await bridge.post(event, who);
    if ('status' in posted)
      return reply.code(posted.status).send({ code: posted.code, text: posted.text, params: posted.params });
    return { id: event.id, ...posted };
  });
}
