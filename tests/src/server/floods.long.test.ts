import { connect, type Socket } from 'node:net';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { measures, mostSockets } from '../../../src/server/limits.ts';
import { pairedSchema, refusalSchema } from '../../../src/server/protocol.ts';
import { until } from '../../contracts/transport-clocks.ts';
import { type Answer, type Asked, ask } from './ask.ts';
import { fakeRecord } from './fake-record.ts';
import { lanAddress, type Served, serve } from './served.ts';

const json = { 'content-type': 'application/json' };

let served: Served;
beforeEach(async () => {
  served = await serve({ host: '0.0.0.0', record: fakeRecord });
});
afterEach(() => served.close());

/** As a proxy on this machine hands it on, which is how one machine can speak for many addresses. */
const from = (address: string, path: string, asked: Asked = {}): Promise<Answer> =>
  ask(`${served.server.url}${path}`, { ...asked, headers: { ...asked.headers, 'x-forwarded-for': address } });

async function paired(address: string): Promise<Record<string, string>> {
  const answer = await from(address, '/api/pair', { method: 'POST', headers: json, body: '{"code":"135790"}' });
  return { authorization: `Bearer ${pairedSchema.parse(JSON.parse(answer.text)).token}` };
}

async function many(count: number, one: (i: number) => Promise<Answer>): Promise<number[]> {
  const all: number[] = [];
  for (let i = 0; i < count; i += 50) {
    const some = Array.from({ length: Math.min(50, count - i) }, (_, k) => one(i + k));
    all.push(...(await Promise.all(some)).map((a) => a.status));
  }
  return all;
}
const limited = (statuses: readonly number[]): number => statuses.filter((s) => s === 429).length;
const bursts = (n: number): number => Math.ceil(n * 1.5);

describe('a flood from one address', () => {
  it('is told what was too much and when to come again, and costs another nothing', async () => {
    const flood = await many(bursts(measures.look.each.burst), () => from('192.0.2.1', '/api/me'));
    expect(limited(flood)).toBeGreaterThan(0);
    expect(limited(flood.slice(0, measures.look.each.burst))).toBe(0);
    const told = await from('192.0.2.1', '/api/view?x=1');
    // A bucket refills while the test runs: the sentence is looked at where one comes.
    const refused = told.status === 429 ? told : await refusedOf('192.0.2.1');
    const { code, text } = refusalSchema.parse(JSON.parse(refused.text));
    expect([refused.status, code]).toEqual([429, 'too-much-asked']);
    expect(Number(refused.headers['retry-after'])).toBeGreaterThanOrEqual(1);
    expect(text).toMatch(/^\/api\/view was asked for too often from this address\. Wait \d+ s, then try again\.$/);
    expect((await from('192.0.2.2', '/api/view')).status).toBe(200);
    expect((await ask(`${served.server.url}/api/view`)).status).toBe(200);
  });

  async function refusedOf(address: string): Promise<Answer> {
    for (;;) {
      const all = await Promise.all(Array.from({ length: 100 }, () => from(address, '/api/view')));
      const found = all.find((a) => a.status === 429);
      if (found) return found;
    }
  }

  it.each([
    ['GET', '/api/runs/current/report.pdf', 'dear'],
    ['GET', '/api/runs/current/label.pdf', 'dear'],
    ['POST', '/api/pair', 'secret'],
    ['POST', '/api/events', 'write'],
    ['POST', '/api/runs/current/photos?id=12345678', 'write'],
    ['GET', '/no-such-page', 'page'],
  ] as const)('of %s %s ends at its measure', async (method, path, work) => {
    const body = method === 'POST' ? { headers: json, body: '{}' } : {};
    const flood = await many(bursts(measures[work].each.burst), () => from('192.0.2.1', path, { method, ...body }));
    expect(limited(flood.slice(0, 50 * Math.floor(measures[work].each.burst / 50)))).toBe(0);
    expect(limited(flood)).toBeGreaterThan(0);
  });

  it('is one flood from however many IPv6 addresses of one household', async () => {
    const flood = await many(bursts(measures.dear.each.burst), (i) =>
      from(`2001:db8:1:2::${i.toString(16)}`, '/api/runs/current/report.pdf'),
    );
    expect(limited(flood)).toBeGreaterThan(0);
    expect((await from('2001:db8:1:3::1', '/api/runs/current/report.pdf')).status).toBe(401);
  });
});

describe('a flood from hundreds of addresses', () => {
  it('holds up those that nobody knows, and no device that is paired', async () => {
    const headers = await paired('198.51.100.9');
    const flood = await many(bursts(measures.dear.strangers.burst), (i) =>
      from(`192.0.2.${i % 250}`, '/api/runs/current/report.pdf'),
    );
    expect(limited(flood)).toBeGreaterThan(0);
    const stranger = await Promise.all(
      Array.from({ length: 20 }, (_, i) => from(`203.0.113.${i}`, '/api/runs/current/report.pdf')),
    );
    const refused = stranger.find((a) => a.status === 429);
    expect(refusalSchema.parse(JSON.parse(refused?.text ?? '{}')).text).toContain('a paired device is not held up');
    const own = await many(30, () => from('198.51.100.9', '/api/runs/current/report.pdf', { headers }));
    expect(limited(own)).toBe(0);
    // The stream and pictures cannot send the token: the address is remembered.
    expect((await from('198.51.100.9', '/api/runs/current/report.pdf')).status).toBe(401);
  });
});

describe('a tablet in normal use', () => {
  it('never meets a limit, ten of them opened at once behind one address', async () => {
    const address = '198.51.100.9';
    const headers = await paired(address);
    const paths = [
      ...Array.from({ length: 30 }, (_, i) => `/assets/part-${i}.js`),
      ...['/api/view', '/api/trace?fromS=0', '/api/me', '/api/reach', '/api/bench'],
    ];
    const loads = paths.flatMap((path) => Array.from({ length: 10 }, () => path));
    expect(limited(await many(loads.length, (i) => from(address, loads[i] ?? '', { headers })))).toBe(0);
  });

  it('sends what it was told in an outage of hours, one tap after the other', async () => {
    const headers = { ...json, ...(await paired('198.51.100.9')) };
    for (let i = 0; i < 250; i++) {
      const body = JSON.stringify({ id: `tap-after-${i}`, event: 'note', note: 'x', agoS: 3600 });
      expect((await from('198.51.100.9', '/api/events', { method: 'POST', headers, body })).status).toBe(200);
    }
  });
});

describe('streams', () => {
  const open = (address: string): Promise<number> =>
    new Promise((resolve) => {
      const socket = connect(served.server.port, '127.0.0.1');
      sockets.push(socket);
      socket.once('data', (chunk: Buffer) => resolve(Number(/^HTTP\/1.1 (\d+)/.exec(chunk.toString())?.[1])));
      socket.write(`GET /api/live HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Forwarded-For: ${address}\r\n\r\n`);
    });
  const sockets: Socket[] = [];
  afterEach(() => {
    for (const socket of sockets.splice(0)) socket.destroy();
  });

  it('are sixteen of one address, and a quarter of all is kept for devices that are known', async () => {
    await paired('198.51.100.9').then((headers) => from('198.51.100.9', '/api/me', { headers }));
    const one = [];
    for (let i = 0; i < 17; i++) one.push(await open('192.0.2.1'));
    expect(one).toEqual([...Array.from({ length: 16 }, () => 200), 503]);
    const others = [];
    for (let i = 0; i < 33; i++) others.push(await open(`192.0.2.${10 + i}`));
    expect(others.filter((status) => status === 200)).toHaveLength(32);
    expect(others.at(-1)).toBe(503);
    expect(await open('198.51.100.9')).toBe(200);
  });

  it('begun again and again end at the measure of one address, and not those of another', async () => {
    const storm = await many(bursts(measures.live.each.burst), () =>
      from('192.0.2.1', '/api/live', { headOnly: true }),
    );
    expect(limited(storm)).toBeGreaterThan(0);
    expect(await open('192.0.2.2')).toBe(200);
  });
});

describe('connections', () => {
  it.skipIf(lanAddress === undefined)('of one address are cut at a number (skipped without a network)', async () => {
    const sockets = Array.from({ length: mostSockets.each + 40 }, () => connect(served.server.port, lanAddress ?? ''));
    let closed = 0;
    for (const socket of sockets) {
      socket.on('error', () => undefined);
      socket.on('close', () => (closed += 1));
    }
    await until('those too many are cut', () => closed >= 40);
    expect((await ask(`${served.server.url}/api/view`)).status).toBe(200);
    expect(closed).toBe(40);
    for (const socket of sockets) socket.destroy();
    await until('all are gone', () => closed === sockets.length);
    expect((await ask(`http://${lanAddress}:${served.server.port}/api/view`)).status).toBe(200);
  });
});
