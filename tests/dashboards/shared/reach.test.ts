import { beforeAll, describe, expect, it, vi } from 'vitest';

let reachOf: typeof import('../../../dashboards/shared/reach.ts').reachOf;
beforeAll(async () => {
  vi.stubGlobal('location', { protocol: 'http:', hostname: 'localhost' });
  vi.stubGlobal('isSecureContext', true);
  ({ reachOf } = await import('../../../dashboards/shared/reach.ts'));
});

describe('how a page was reached', () => {
  it.each([
    ['http:', '192.168.1.7', false, 'plain-http'],
    ['http:', '192.168.1.7', true, 'trusted-http'],
    ['http:', 'localhost', true, 'own-machine'],
    ['http:', '127.0.0.1', true, 'own-machine'],
    ['http:', '[::1]', true, 'own-machine'],
    ['https:', '192.168.1.7', true, 'https'],
    // Certificate not trusted, warning clicked away: the browser gives it no more than plain http.
    ['https:', '192.168.1.7', false, 'plain-http'],
  ])('%s//%s, secure %s: %s', (protocol, hostname, isSecure, way) => {
    expect(reachOf({ protocol, hostname }, isSecure)).toBe(way);
  });
});
