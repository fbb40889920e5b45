import Fastify, { type FastifyInstance, type FastifyRequest } from 'fastify';
import { Problem } from '../core/message/problem.ts';
import { type Access, createAccess } from './access.ts';
import type { AuditPort } from './audit-port.ts';
import { addAuditRoutes } from './audit-routes.ts';
import { type Auth, createAuth } from './auth.ts';
import type { BenchPort } from './bench-port.ts';
import { addBenchRoutes } from './bench-routes.ts';
import { addOfficeRoutes } from './office-routes.ts';
import { addHealthRoutes, type HealthPort } from './health.ts';
import { createLimits, type Limits, type Work } from './limits.ts';
import type { BridgePort } from './port.ts';
import { bearerOf } from './cookie.ts';
import { createPush, type PushLimits } from './push.ts';
import { addRecordRoutes, type RecordPort } from './record-routes.ts';
import { Refused, sendRefusal } from './refuse.ts';
import { addLiveRoute, addReadRoutes, addWriteRoutes } from './routes.ts';
import { ownNames, refuseForeign } from './same-site.ts';
import { serveStatic } from './static.ts';
import { addTrustRoutes } from './trust-routes.ts';
import { listenSecurely, type Secure } from './tls/listen.ts';
import type { Tls } from './tls/keep.ts';

const bodyLimitBytes = 32_768;

/** Sent with every answer. No script, style or connection from anywhere but this server; never inside another page. */
const headers: Readonly<Record<string, string>> = {
  'content-security-policy':
    "default-src 'self'; img-src 'self' data:; object-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
  'x-content-type-options': 'nosniff',
  'x-frame-options': 'DENY',
  'referrer-policy': 'no-referrer',
  'cross-origin-resource-policy': 'same-origin',
  'permissions-policy': 'camera=(), microphone=(), geolocation=()',
  // Only the files of the pages say otherwise.
  'cache-control': 'no-store',
};

export interface ServerOptions {
  readonly host: string;
  /** 0 takes any free port. */
  readonly port: number;
  /** The run under way; absent at the firm's end, where there is none: the office's page comes first there. */
  readonly bridge?: BridgePort;
  /** Report and seal of the run under way; absent: those routes are not there. */
  readonly record?: RecordPort;
  /** The kit's bench, where there is one. */
  readonly bench?: BenchPort;
  /** For whoever watches the process. */
  readonly health?: HealthPort;
  /** The runs that are kept, for the office. */
  readonly audit?: AuditPort;
  /** Folder of the built pages. */
  readonly webRoot: string;
  readonly pairing: { readonly code: string };
  /** The same pages by https, beside plain http; absent: by http only. The first free one of the ports is taken. */
  readonly https?: { readonly ports: readonly number[]; readonly tls: Tls };
  /** Where pairings are kept over a restart; absent: they last as long as the server. */
  readonly dataFolder?: string;
  /** Further names by which this machine is reached in its network. */
  readonly names?: readonly string[];
  readonly limits?: Partial<PushLimits>;
  readonly log?: (line: string) => void;
  /** Told of each route that there is, for whoever checks that none was forgotten. */
  readonly seen?: (route: { readonly method: string; readonly path: string; readonly work: Work | null }) => void;
}

export interface RunningServer {
  /** Address of the page on this machine. */
  readonly url: string;
  readonly port: number;
  /** Port of https; null without. */
  readonly httpsPort: number | null;
  close(): Promise<void>;
}

function toRefused(error: unknown, limitBytes: number, log: (line: string) => void): Refused {
  if (error instanceof Refused) return error;
  // The rooms below say in words what they cannot do.
  if (error instanceof Problem) return new Refused(409, error.code, error.params);
  const code = error instanceof Error && 'code' in error ? String(error.code) : '';
  const status = error instanceof Error && 'statusCode' in error ? Number(error.statusCode) : 500;
  if (code === 'FST_ERR_CTP_BODY_TOO_LARGE') return new Refused(413, 'body-too-large', { limitBytes });
  if (status >= 400 && status < 500) return new Refused(status === 415 ? 415 : 400, 'body-not-json');
  log(`server fault: ${error instanceof Error ? (error.stack ?? error.message) : String(error)}`);
  return new Refused(500, 'server-fault');
}

async function buildApp(
  options: ServerOptions,
  httpsPort: () => number | null,
): Promise<{ app: FastifyInstance; limits: Limits; stop: () => void }> {
  const log = options.log ?? (() => {});
  const app = Fastify({
    bodyLimit: bodyLimitBytes,
    forceCloseConnections: true,
    connectionTimeout: 0,
    // An archive of a run takes a while over a weak network; headers must come at once all the same.
    requestTimeout: 180_000,
    http: { headersTimeout: 15_000 },
    routerOptions: { maxParamLength: 400 },
    keepAliveTimeout: 30_000,
    // Behind a proxy on this machine everybody would come from this machine, which may do all: who asked it counts.
    trustProxy: 'loopback',
  });
  // A form of a foreign page can be sent as plain text without asking.
  app.removeContentTypeParser('text/plain');
  const names = ownNames(options.names ?? []);
  const auth = createAuth({ code: options.pairing.code, dataFolder: options.dataFolder, tell: log });
  app.addHook('onRoute', ({ method, path, config }) => {
    for (const one of [method].flat()) options.seen?.({ method: one, path, work: config?.work ?? null });
  });
  const access = options.audit ? createAccess({ auth, keeper: options.audit.people }) : null;
  const mayLook = (request: FastifyRequest): boolean => isDevice(request, auth, access);
  const limits = createLimits(mayLook);
  limits.watch(app.server);
  app.addHook('onRequest', (request, reply, done) => {
    reply.headers(headers);
    limits.count(request);
    refuseForeign(request, names);
    done();
  });
  app.setErrorHandler((error, request, reply) =>
    sendRefusal(reply, toRefused(error, request.routeOptions.bodyLimit ?? bodyLimitBytes, log)),
  );
  app.setNotFoundHandler((request, reply) =>
    sendRefusal(reply, new Refused(404, 'not-found', { path: request.url.slice(0, 200) })),
  );
  const stop = options.bridge ? addRunRoutes(app, options.bridge, auth, limits, options) : () => undefined;
  if (options.record) addRecordRoutes(app, options.record, auth, mayLook);
  if (options.bench) addBenchRoutes(app, options.bench, auth);
  if (options.health) addHealthRoutes(app, options.health);
  if (options.audit && access) {
    addAuditRoutes(app, options.audit, access);
    addOfficeRoutes(app, options.audit, access, options.bridge !== undefined);
  }
  addTrustRoutes(app, options.https?.tls ?? null, httpsPort);
  if (!options.bridge) app.get('/', (_request, reply) => reply.redirect('/audit.html'));
  await serveStatic(app, options.webRoot);
  return { app, limits, stop };
}

/** Whether a request brings a pairing or a sign-in that holds; a link, which may be passed on to anybody, is none. */
function isDevice(request: FastifyRequest, auth: Auth, access: Access | null): boolean {
  if (access === null) return auth.who(request.ip, bearerOf(request)) !== null;
  const who = access.who(request);
  return who !== null && who.by !== 'link';
}

/** The run under way, for the tablet. Returns what ends its streams. */
function addRunRoutes(
  app: FastifyInstance,
  bridge: BridgePort,
  auth: Auth,
  limits: Limits,
  { limits: ofPush }: ServerOptions,
): () => void {
  const push = createPush(bridge, ofPush);
  const rooms = { bridge, push, auth, headers, limits, pages: ofPush?.pages ?? 64 };
  addReadRoutes(app, rooms);
  addLiveRoute(app, rooms);
  addWriteRoutes(app, rooms);
  return push.close;
}

/**
 * Starts the HTTP server. Rejects with the system's own error when it cannot listen (`code` EADDRINUSE, EACCES, ...),
 * so that the caller can try the next port or say what to do.
 */
export async function startServer(options: ServerOptions): Promise<RunningServer> {
  let secure: Secure | null = null;
  const { app, limits, stop } = await buildApp(options, () => secure?.port ?? null);
  try {
    await app.listen({ host: options.host, port: options.port });
    if (options.https) {
      const { ports, tls } = options.https;
      secure = await listenSecurely(app.server, options.host, ports, tls, limits.watch);
    }
  } catch (error) {
    stop();
    await app.close();
    throw error;
  }
  const httpsPort = secure?.port ?? null;
  const address = app.server.address();
  const port = typeof address === 'object' && address !== null ? address.port : options.port;
  const anywhere = options.host === '0.0.0.0' || options.host === '::';
  const shown = anywhere ? '127.0.0.1' : options.host.includes(':') ? `[${options.host}]` : options.host;
  return {
    url: `http://${shown}:${port}`,
    port,
    httpsPort,
    async close() {
      stop();
      await secure?.close();
      await app.close();
    },
  };
}
