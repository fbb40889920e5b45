import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { z } from 'zod';
import { Problem } from '../../../src/core/message/problem.ts';
import { startServer } from '../../../src/server/app.ts';
import { pairedSchema, refusalSchema, runViewSchema, traceAnswerSchema } from '../../../src/server/protocol.ts';
import { type Answer, ask } from './ask.ts';
import { fakeAudit } from './fake-audit.ts';
import { lanAddress, type Served, serve } from './served.ts';

const json = { 'content-type': 'application/json' };
const event = (over: Record<string, unknown> = {}) =>
  JSON.stringify({ id: 'abcdefgh-1', event: 'note', note: 'x', ...over });
const refusal = (answer: Answer) => refusalSchema.parse(JSON.parse(answer.text));

let served: Served;
beforeAll(async () => {
  served = await serve({ host: '0.0.0.0' });
});
afterAll(() => served.close());

describe('reading', () => {
  it('gives view and trace as the protocol says, with a place in the stream', async () => {
    expect(runViewSchema.parse(JSON.parse((await ask(`${served.server.url}/api/view`)).text)).runId).toBe('fake-run');
    const trace = traceAnswerSchema.parse(JSON.parse((await ask(`${served.server.url}/api/trace?fromS=1&toS=2`)).text));
    expect(trace.rows.map((row) => row[0])).toEqual([1, 1.1, 1.2, 1.3, 1.4, 1.5, 1.6, 1.7, 1.8, 1.9, 2]);
    expect(trace.at).toMatch(/^[0-9a-f]{12}\.\d+$/);
  });

  it('takes a time as the page computes it, with all its decimals', async () => {
    expect((await ask(`${served.server.url}/api/trace?fromS=1.9407577100000073&toS=1011.9407577100001`)).status).toBe(
      200,
    );
  });

  it.each(['fromS=-1', 'fromS=x', 'fromS=1&fromS=2', 'points=1', 'points=1e9', 'points=200000', 'toS='])(
    'refuses the trace of "%s" by name',
    async (query) => {
      const answer = await ask(`${served.server.url}/api/trace?${query}`);
      expect(answer.status).toBe(400);
      expect(refusal(answer).text).toContain(`query.${query.split('=')[0]}`);
    },
  );

  it('describes itself in OpenAPI made from the schemas', async () => {
    const text = (await ask(`${served.server.url}/api/openapi.json`)).text;
    const description = z
      .looseObject({ openapi: z.string(), paths: z.record(z.string(), z.unknown()) })
      .parse(JSON.parse(text));
    expect(Object.keys(description.paths).sort()).toEqual([
      '/api/bench',
      '/api/bench/check',
      '/api/bench/command',
      '/api/bench/fit',
      '/api/bench/keep',
      '/api/bench/litres',
      '/api/bench/measure',
      '/api/events',
      '/api/exports',
      '/api/exports/{id}',
      '/api/exports/{id}/runs.zip',
      '/api/live',
      '/api/me',
      '/api/office/me',
      '/api/office/people',
      '/api/office/people/{name}',
      '/api/office/session',
      '/api/office/sign-in',
      '/api/office/sign-out',
      '/api/pair',
      '/api/reach',
      '/api/runs',
      '/api/runs/across',
      '/api/runs/by-lot',
      '/api/runs/current/comments',
      '/api/runs/current/label.pdf',
      '/api/runs/current/photos',
      '/api/runs/current/photos/{name}',
      '/api/runs/current/record',
      '/api/runs/current/report.pdf',
      '/api/runs/current/seal',
      '/api/runs/import',
      '/api/runs/side-by-side',
      '/api/runs/{run}',
      '/api/runs/{run}/again',
      '/api/runs/{run}/comments',
      '/api/runs/{run}/files/{file}',
      '/api/runs/{run}/links',
      '/api/runs/{run}/links/{id}',
      '/api/runs/{run}/seal',
      '/api/runs/{run}/trace',
      '/api/trace',
      '/api/view',
      '/healthz',
    ]);
    expect(text).toContain('agoS');
  });

  it('says what to run when the page is not built, and serves it with a strict policy when it is', async () => {
    const bare = await ask(served.server.url);
    expect(bare.text).toContain('npm run build');
    const web = join(served.folder, 'built');
    mkdirSync(join(web, 'assets'), { recursive: true });
    writeFileSync(join(web, 'index.html'), '<title>page</title>');
    writeFileSync(join(web, 'assets', 'a-12345678.js'), '1');
    const options = { host: '127.0.0.1', port: 0, bridge: served.bridge, webRoot: web, pairing: { code: '1' } };
    const built = await startServer(options);
    try {
      const page = await ask(`${built.url}/`);
      expect(page.text).toContain('<title>page</title>');
      expect(page.headers['content-security-policy']).toContain("default-src 'self'");
      expect(page.headers['cache-control']).toBe('no-cache');
      expect((await ask(`${built.url}/assets/a-12345678.js`)).headers['cache-control']).toContain('immutable');
      expect((await ask(`${built.url}/..%2f..%2fpackage.json`)).status).not.toBe(200);
      expect((await ask(`${built.url}/no-such`)).status).toBe(404);
    } finally {
      await built.close();
    }
  });

  it("says so at the firm's end, too, where the first page leads to the office", async () => {
    const hub = await startServer({
      host: '127.0.0.1',
      port: 0,
      webRoot: join(served.folder, 'none'),
      pairing: { code: '1' },
    });
    try {
      expect((await ask(`${hub.url}/`)).status).toBe(302);
      expect((await ask(`${hub.url}/audit.html`)).text).toContain('npm run build');
    } finally {
      await hub.close();
    }
  });

  it('fails to start on a port that is taken with the code of the system', async () => {
    const options = {
      host: '0.0.0.0',
      port: served.server.port,
      bridge: served.bridge,
      webRoot: served.folder,
      pairing: { code: '1' },
    };
    await expect(startServer(options)).rejects.toMatchObject({ code: 'EADDRINUSE' });
  });
});

describe('writing', () => {
  const post = (body: string, headers: Record<string, string> = json, base = served.server.url) =>
    ask(`${base}/api/events`, { method: 'POST', headers, body });

  it('answers after the event is committed, and once for a repeated id', async () => {
    const id = 'tap-00000001';
    const first = JSON.parse((await post(event({ id }))).text);
    expect(first).toMatchObject({ id, doubled: false });
    expect(JSON.parse((await post(event({ id }))).text)).toMatchObject({ id, index: first.index, doubled: true });
    expect(served.bridge.posted.filter((p) => p.event.id === id)).toEqual([
      expect.objectContaining({ who: 'loopback' }),
    ]);
  });

  it('hands on a refusal of the run with its status and its words', async () => {
    const answer = await post(event({ id: 'tap-00000002', event: 'agitate-end', emitter: 'nowhere' }));
    expect(answer.status).toBe(409);
    expect(refusal(answer).text).toContain('not open');
  });

  it.each([
    ['no JSON', 'not json', 400, 'body-not-json'],
    ['an empty body', '', 400, 'body-not-json'],
    ['a missing id', '{"event":"note"}', 400, 'bad-field'],
    ['a wrong type', '{"id":"abcdefgh","event":7}', 400, 'bad-field'],
    ['a time to come', '{"id":"abcdefgh","event":"note","agoS":-5}', 400, 'bad-field'],
    ['an array', '[]', 400, 'bad-field'],
    ['40 kB', JSON.stringify({ id: 'abcdefgh', event: 'note', note: 'x'.repeat(40_000) }), 413, 'body-too-large'],
  ])('refuses %s without a stack trace', async (_name, body, status, code) => {
    const answer = await post(body);
    expect([answer.status, refusal(answer).code]).toEqual([status, code]);
    expect(answer.text).not.toMatch(/\bat .*\.(ts|js)/);
  });

  it('tells in its own words what a room below cannot do', async () => {
    const found = { runId: 'r1', what: 'entry 3', detail: 'no JSON' };
    const office = await startServer({
      host: '127.0.0.1',
      port: 0,
      bridge: served.bridge,
      audit: {
        ...fakeAudit(),
        has: () => true,
        page: () => {
          throw new Problem('store-row-unreadable', found);
        },
      },
      webRoot: served.folder,
      pairing: { code: '1' },
    });
    try {
      const answer = await ask(`${office.url}/api/runs/r1`);
      expect([answer.status, refusal(answer).code]).toEqual([409, 'store-row-unreadable']);
      expect(answer.text).toContain('Run r1: entry 3 in limpid.sqlite cannot be read (no JSON)');
    } finally {
      await office.close();
    }
  });

  it('keeps its own faults to its log', async () => {
    const logged: string[] = [];
    const broken = await startServer({
      host: '127.0.0.1',
      port: 0,
      bridge: {
        ...served.bridge,
        view: () => {
          throw new Error('secret detail');
        },
      },
      webRoot: served.folder,
      pairing: { code: '1' },
      log: (line) => logged.push(line),
    });
    try {
      const answer = await ask(`${broken.url}/api/view`);
      expect([answer.status, refusal(answer).code]).toEqual([500, 'server-fault']);
      expect(answer.text).not.toContain('secret');
      expect(logged.join()).toContain('secret detail');
    } finally {
      await broken.close();
    }
  });
});

describe('foreign pages', () => {
  const host = (name: string) => ask(`${served.server.url}/api/view`, { headers: { host: name } });

  it('answers to addresses and own names only, so that a foreign name cannot be pointed here', async () => {
    for (const name of ['127.0.0.1:8480', 'localhost', '[::1]:8480', '192.168.4.7:8480'])
      expect((await host(name)).status).toBe(200);
    for (const name of ['evil.example', 'localhost.evil.example', '127.0.0.1.evil.example', 'xn--e1aybc'])
      expect([(await host(name)).status, refusal(await host(name)).code]).toEqual([403, 'foreign-host']);
  });

  it.each([
    ['another origin', { origin: 'http://evil.example' }],
    ['another port of this machine', { origin: 'http://127.0.0.1:9' }],
    ['a sandboxed page', { origin: 'null' }],
    ['a cross-site request', { 'sec-fetch-site': 'cross-site' }],
  ])('takes no event from %s, even on the machine of the bridge', async (_name, headers) => {
    const before = served.bridge.posted.length;
    const answer = await ask(`${served.server.url}/api/events`, {
      method: 'POST',
      headers: { ...json, ...headers },
      body: event({ id: 'foreign-0001' }),
    });
    expect([answer.status, refusal(answer).code]).toEqual([403, 'foreign-origin']);
    expect(served.bridge.posted).toHaveLength(before);
  });

  it('takes no form, which a foreign page may send without asking', async () => {
    const answer = await ask(`${served.server.url}/api/events`, {
      method: 'POST',
      headers: { 'content-type': 'text/plain' },
      body: event({ id: 'form-000001' }),
    });
    expect(answer.status).toBeGreaterThanOrEqual(400);
  });
});

describe.skipIf(lanAddress === undefined)('another device (skipped without a network address)', () => {
  it('may watch, must pair to write, and may then', async () => {
    const base = `http://${lanAddress}:${served.server.port}`;
    const write = (headers: Record<string, string>) =>
      ask(`${base}/api/events`, {
        method: 'POST',
        headers: { ...json, ...headers },
        body: event({ id: 'lan-000001' }),
      });
    expect((await ask(`${base}/api/view`)).status).toBe(200);
    expect(JSON.parse((await ask(`${base}/api/me`)).text)).toMatchObject({ mayWrite: false });
    expect([(await write({})).status, refusal(await write({})).code]).toEqual([401, 'not-paired']);
    const paired = await ask(`${base}/api/pair`, { method: 'POST', headers: json, body: '{"code":"135790"}' });
    const headers = { authorization: `Bearer ${pairedSchema.parse(JSON.parse(paired.text)).token}` };
    expect(JSON.parse((await ask(`${base}/api/me`, { headers })).text)).toMatchObject({ mayWrite: true });
    expect((await write(headers)).status).toBe(200);
    expect(served.bridge.posted.at(-1)?.who).toMatch(/^device-/);
  });
});

describe('live', () => {
  it('streams server-sent events and ends them when the server closes', async () => {
    const own = await startServer({
      host: '127.0.0.1',
      port: 0,
      bridge: served.bridge,
      webRoot: served.folder,
      pairing: { code: '1' },
    });
    const streamed = ask(`${own.url}/api/live`);
    await new Promise((done) => setTimeout(done, 100));
    served.bridge.play(0.1);
    served.bridge.beat();
    await new Promise((done) => setTimeout(done, 50));
    await own.close();
    const { headers, text } = await streamed;
    expect(headers['content-type']).toContain('text/event-stream');
    expect([...text.matchAll(/^event: (.+)$/gm)].map((m) => m[1])).toEqual(['refetch', 'trace', 'view', 'beat']);
  });
});
