import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { Problem } from '../../../src/core/message/problem.ts';
import { type RunningServer, type ServerOptions, startServer } from '../../../src/server/app.ts';
import type { BenchPort } from '../../../src/server/bench-port.ts';
import { refusalSchema } from '../../../src/server/protocol.ts';
import { keepTls } from '../../../src/server/tls/keep.ts';
import { type Answer, type Asked, ask } from './ask.ts';
import { fakeAudit } from './fake-audit.ts';
import { createFakeBridge } from './fake-bridge.ts';
import { fakeRecord } from './fake-record.ts';

/**
 * Each route of each server, by who may use it: anybody in the network (`all`), whoever is paired or signed in (`device`),
 * or whoever may try a secret (`secret`). A route that is not here fails the tests until somebody has decided.
 */
const whoMay: Readonly<Record<string, 'all' | 'device' | 'secret'>> = {
  'GET /': 'all',
  'GET /*': 'all',
  'GET /healthz': 'all',
  'GET /health': 'all',
  'GET /ready': 'all',
  'GET /metrics': 'all',
  'GET /limpid-authority.crt': 'all',
  'GET /api/openapi.json': 'all',
  'GET /api/reach': 'all',
  'GET /api/view': 'all',
  'GET /api/trace': 'all',
  'GET /api/me': 'all',
  'GET /api/live': 'all',
  'GET /api/bench': 'all',
  'POST /api/pair': 'secret',
  'POST /api/events': 'device',
  'POST /api/bench/command': 'device',
  'POST /api/bench/measure': 'device',
  'POST /api/bench/litres': 'device',
  'POST /api/bench/fit': 'device',
  'POST /api/bench/keep': 'device',
  'POST /api/bench/check': 'device',
  'GET /api/runs/current/report.pdf': 'device',
  'GET /api/runs/current/label.pdf': 'device',
  'GET /api/runs/current/record': 'device',
  'POST /api/runs/current/seal': 'device',
  'POST /api/runs/current/comments': 'device',
  'POST /api/runs/current/photos': 'device',
  'GET /api/runs/current/photos/:name': 'device',
  'GET /api/runs': 'device',
  'GET /api/runs/by-lot': 'device',
  'GET /api/runs/across': 'device',
  'GET /api/runs/side-by-side': 'device',
  'GET /api/runs/:run': 'device',
  'GET /api/runs/:run/trace': 'device',
  'GET /api/runs/:run/seal': 'device',
  'POST /api/runs/:run/again': 'device',
  'POST /api/runs/:run/comments': 'device',
  'GET /api/runs/:run/files/:file': 'device',
  'GET /api/runs/:run/links': 'device',
  'POST /api/runs/:run/links': 'device',
  'DELETE /api/runs/:run/links/:id': 'device',
  'POST /api/runs/import': 'device',
  'POST /api/exports': 'device',
  'GET /api/exports/:id': 'device',
  'GET /api/exports/:id/runs.zip': 'device',
  'GET /api/office/me': 'all',
  'POST /api/office/sign-in': 'secret',
  'POST /api/office/session': 'secret',
  'POST /api/office/sign-out': 'all',
  'GET /api/office/people': 'device',
  'POST /api/office/people': 'device',
  'DELETE /api/office/people/:name': 'device',
};
/** What else than JSON a route takes. */
const kinds: Readonly<Record<string, readonly string[]>> = {
  'POST /api/runs/current/photos': ['image/jpeg', 'image/png', 'application/octet-stream'],
  'POST /api/runs/import': ['application/zip'],
};

interface Door {
  readonly name: string;
  readonly server: RunningServer;
  readonly routes: readonly string[];
  readonly unmeasured: readonly string[];
}

const folder = mkdtempSync(join(tmpdir(), 'limpid-routes-'));
const doors: Door[] = [];

async function door(name: string, options: Partial<ServerOptions>): Promise<void> {
  const routes: string[] = [];
  const unmeasured: string[] = [];
  const server = await startServer({
    host: '127.0.0.1',
    port: 0,
    webRoot: join(folder, 'web'),
    pairing: { code: '135790' },
    seen: ({ method, path, work }) => {
      if (method === 'HEAD') return;
      routes.push(`${method} ${path}`);
      if (work === null && !/^\/(\*|limpid-authority.crt)?$/.test(path)) unmeasured.push(`${method} ${path}`);
    },
    ...options,
  });
  doors.push({ name, server, routes, unmeasured });
}

const refusing = (): never => {
  throw new Problem('run.unknown', { runId: 'r', known: '' });
};
const bench: BenchPort = {
  view: refusing,
  command: refusing,
  measure: refusing,
  litres: refusing,
  fit: refusing,
  keep: refusing,
  check: refusing,
};

beforeAll(async () => {
  mkdirSync(join(folder, 'web'));
  writeFileSync(join(folder, 'web', 'index.html'), '<title>page</title>');
  const tls = keepTls(folder, 'rig', ['localhost', '127.0.0.1'], Date.now());
  const health = { measures: () => [], problems: () => [] };
  const https = { ports: [0], tls };
  await door('a bridge', {
    bridge: createFakeBridge(),
    record: fakeRecord,
    bench,
    health,
    audit: fakeAudit(),
    https,
  });
  await door('a hub', { health, audit: fakeAudit() });
  await door('a bridge without built pages', { bridge: createFakeBridge(), webRoot: folder });
});
afterAll(async () => {
  await Promise.all(doors.map((d) => d.server.close()));
  rmSync(folder, { recursive: true, force: true });
});

let strangers = 0;
/** Somebody in the network, another one each time: each has a measure of its own. */
const lan = (): Record<string, string> => ({ 'x-forwarded-for': `192.0.2.${(strangers += 1) % 250}` });

/** A request to a route, with something in the place of each parameter. */
function to(d: Door, route: string, { headers = {}, ...asked }: Asked = {}): Promise<Answer> {
  const [method = '', path = ''] = route.split(' ');
  const url = d.server.url + path.replace(/:\w+/g, 'abcdefgh').replace('*', 'index.html');
  const headOnly = path === '/api/live';
  const json = method === 'POST' ? { 'content-type': 'application/json' } : {};
  const body = method === 'POST' && asked.body === undefined ? { body: '{}' } : {};
  return ask(url, { method, headOnly, ...body, ...asked, headers: { ...json, ...headers } });
}
const codeOf = (answer: Answer): string => {
  try {
    return refusalSchema.parse(JSON.parse(answer.text)).code;
  } catch {
    return '';
  }
};

/** Asks each route of each server, and gives back those whose answer is not as it must be. */
async function wrong(asked: (route: string) => Asked | null, isRight: (a: Answer, route: string) => boolean) {
  const found: string[] = [];
  for (const d of doors)
    for (const route of d.routes) {
      const how = asked(route);
      if (how === null) continue;
      const answer = await to(d, route, how);
      if (!isRight(answer, route)) found.push(`${d.name}: ${route}: ${answer.status} ${codeOf(answer)}`);
    }
  return found;
}
const isRead = (route: string): boolean => route.startsWith('GET ');

describe('every route of every server', () => {
  it('is one that somebody has decided on, and has its measure', () => {
    const all = [...new Set(doors.flatMap((d) => d.routes))].sort();
    expect(all).toEqual(Object.keys(whoMay).sort());
    expect(doors.flatMap((d) => d.unmeasured)).toEqual([]);
  });

  it('sends the strict headers, and lets nobody keep its answer but the files of the pages', async () => {
    const isStrict = ({ headers }: Answer, route: string): boolean =>
      /default-src 'self'.*object-src 'none'.*base-uri 'none'.*form-action 'none'.*frame-ancestors 'none'/.test(
        headers['content-security-policy'] as string,
      ) &&
      !/unsafe|\*/.test(headers['content-security-policy'] as string) &&
      headers['x-content-type-options'] === 'nosniff' &&
      headers['x-frame-options'] === 'DENY' &&
      headers['referrer-policy'] === 'no-referrer' &&
      headers['cross-origin-resource-policy'] === 'same-origin' &&
      headers['permissions-policy'] !== undefined &&
      headers['access-control-allow-origin'] === undefined &&
      headers['cache-control'] === (route === 'GET /*' ? 'no-cache' : 'no-store');
    expect(await wrong(() => ({ headers: lan() }), isStrict)).toEqual([]);
    // Refusals before any route, too.
    for (const { server } of doors)
      for (const asked of [{ headers: { host: 'evil.example' } }, { method: 'PUT' }])
        expect(isStrict(await ask(`${server.url}/no-such`, asked), '')).toBe(true);
  });

  it('answers to no foreign name', async () => {
    const headers = { host: 'evil.example' };
    expect(
      await wrong(
        () => ({ headers }),
        (a) => a.status === 403 && codeOf(a) === 'foreign-host',
      ),
    ).toEqual([]);
  });

  it.each([
    ['another origin', { origin: 'http://evil.example' }],
    ['a page without an origin', { origin: 'null' }],
    ['another site', { 'sec-fetch-site': 'cross-site' }],
    ['another port of this machine', { 'sec-fetch-site': 'same-site' }],
  ])('takes nothing from %s, and gives it nothing', async (_name, headers) => {
    const isRefused = (a: Answer, route: string): boolean =>
      a.status === 403 && codeOf(a) === (isRead(route) ? 'foreign-reader' : 'foreign-origin');
    expect(await wrong(() => ({ headers }), isRefused)).toEqual([]);
  });

  it('lets a link of another page lead here, and none post here', async () => {
    const headers = { 'sec-fetch-site': 'cross-site', 'sec-fetch-mode': 'navigate' };
    expect(
      await wrong(
        () => ({ headers: { ...headers, ...lan() } }),
        (a, route) => codeOf(a).startsWith('foreign-') === !isRead(route),
      ),
    ).toEqual([]);
  });

  it('is closed to a stranger of the network unless it is open on purpose', async () => {
    const isRight = ({ status }: Answer, route: string): boolean => {
      if (whoMay[route] === 'device') return status === 401;
      if (whoMay[route] === 'secret') return status === 400 || status === 401;
      return status !== 401 && status !== 403;
    };
    expect(await wrong(() => ({ headers: lan() }), isRight)).toEqual([]);
  });

  it('is not opened by a pairing, a session or a link that is made up', async () => {
    const token = 'A'.repeat(32);
    for (const made of [
      { authorization: `Bearer ${token}` },
      ...['s', 'd', 'l'].map((kind) => ({ cookie: `limpid=${kind}.${token}` })),
    ])
      expect(
        await wrong(
          (route) => (whoMay[route] === 'device' ? { headers: { ...lan(), ...made } } : null),
          (a) => a.status === 401,
        ),
      ).toEqual([]);
  });

  it('takes a body of its own kind alone: no form, no text, no picture where none belongs', async () => {
    const all = ['text/plain', 'application/x-www-form-urlencoded', 'multipart/form-data; boundary=x'];
    for (const type of [...all, 'image/png', 'application/octet-stream', 'application/zip'])
      expect(
        await wrong(
          (route) =>
            !route.startsWith('POST ') || kinds[route]?.includes(type)
              ? null
              : { headers: { 'content-type': type }, body: 'x' },
          (a) => a.status === 415,
        ),
      ).toEqual([]);
  });
});
