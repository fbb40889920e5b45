import { readFileSync } from 'node:fs';
import { connect } from 'node:net';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { clientOf, measures, mostSockets } from '../../../src/server/limits.ts';
import { type Answer, ask } from './ask.ts';
import { fakeRecord } from './fake-record.ts';
import { lanAddress, type Served, serve } from './served.ts';

let served: Served;
beforeAll(async () => {
  served = await serve({ host: '0.0.0.0', record: fakeRecord });
});
afterAll(() => served.close());

/** As a proxy on this machine hands it on. */
const from = (address: string, path: string): Promise<Answer> =>
  ask(`${served.server.url}${path}`, { headers: { 'x-forwarded-for': address } });

describe('what may not be written', () => {
  it('is refused before its body is read', async () => {
    const socket = connect(served.server.port, '127.0.0.1');
    const path = '/api/runs/current/photos?id=12345678';
    const head = `POST ${path} HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Forwarded-For: 192.0.2.1\r\n`;
    socket.write(`${head}Content-Type: image/png\r\nContent-Length: 7000000\r\n\r\n`);
    const said = await new Promise<string>((resolve) => socket.once('data', (c: Buffer) => resolve(c.toString())));
    socket.destroy();
    expect(said).toMatch(/^HTTP\/1.1 401 /);
  });
});

describe('behind a proxy on this machine', () => {
  it('a device is not taken for this machine', async () => {
    expect(JSON.parse((await ask(`${served.server.url}/api/me`)).text)).toMatchObject({ mayWrite: true });
    expect(JSON.parse((await from('192.0.2.1', '/api/me')).text)).toMatchObject({ mayWrite: false });
    // What the device itself claims is the far end of the list, which is not believed.
    expect(JSON.parse((await from('127.0.0.1, 192.0.2.1', '/api/me')).text)).toMatchObject({ mayWrite: false });
  });

  it.skipIf(lanAddress === undefined)('and nobody else is believed (skipped without a network)', async () => {
    const url = `http://${lanAddress}:${served.server.port}/api/me`;
    const said = await ask(url, { headers: { 'x-forwarded-for': '127.0.0.1' } });
    expect(JSON.parse(said.text)).toMatchObject({ mayWrite: false });
  });
});

describe('the household of an address', () => {
  it('is the first half of IPv6, however it is written, and all of IPv4', () => {
    expect(clientOf('::ffff:192.0.2.7')).toBe('192.0.2.7');
    expect(clientOf('192.0.2.7')).toBe('192.0.2.7');
    expect(clientOf('fe80::1%eth0')).toBe('fe80:0:0:0');
    const group = fc.integer({ min: 0, max: 0xffff });
    fc.assert(
      fc.property(
        fc.array(group, { minLength: 4, maxLength: 4 }),
        fc.array(group, { minLength: 4, maxLength: 4 }),
        (net, host) => {
          const hex = (groups: readonly number[]): string => groups.map((g) => g.toString(16)).join(':');
          // WHATWG's URL writes an address in its shortest form (RFC 5952).
          const short = new URL(`http://[${hex(net)}:${hex(host)}]/`).hostname.slice(1, -1);
          expect(clientOf(short)).toBe(hex(net));
        },
      ),
    );
  });
});

describe('docs/security.md', () => {
  it('gives the measures as they are', () => {
    const page = readFileSync('docs/security.md', 'utf8');
    for (const { each, strangers } of Object.values(measures))
      expect(page).toContain(`| ${each.burst} | ${each.perS} | ${strangers.burst}, ${strangers.perS}`);
    expect(page).toContain(`${mostSockets.each} connections of one address and ${mostSockets.strangers} of strangers`);
  });
});
