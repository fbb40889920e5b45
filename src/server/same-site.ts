import { hostname } from 'node:os';
import type { FastifyRequest } from 'fastify';
import { Refused } from './refuse.ts';

/**
 * Keeps other web pages from using a browser that can reach the bridge.
 * A foreign name that resolves to this address (DNS rebinding) fails on Host; a foreign page that posts here (cross-site
 * request) or loads from here fails on Origin or Sec-Fetch-Site. Programs without a browser send neither and are judged by pairing alone.
 */

const homeSuffixes = ['', '.local', '.lan', '.home.arpa', '.internal'];

function nameOf(host: string): string {
  const bracket = /^\[([0-9a-fA-F:.]+)\](?::\d+)?$/.exec(host);
  if (bracket) return bracket[1] ?? '';
  return host.replace(/:\d+$/, '').replace(/\.$/, '').toLowerCase();
}

/** An address cannot be rebound, only a name can. */
function isAddress(name: string): boolean {
  return /^\d{1,3}(\.\d{1,3}){3}$/.test(name) || (name.includes(':') && /^[0-9a-f:.]+$/i.test(name));
}

export function ownNames(extra: readonly string[]): ReadonlySet<string> {
  const own = hostname().toLowerCase().split('.')[0] ?? '';
  const names = own === '' ? [] : homeSuffixes.map((suffix) => `${own}${suffix}`);
  return new Set(['localhost', ...names, ...extra.map((name) => name.toLowerCase())]);
}

/** Throws `Refused` when the request was made through a foreign name or by a foreign page. */
export function refuseForeign(request: FastifyRequest, names: ReadonlySet<string>): void {
  const host = request.headers.host ?? '';
  const name = nameOf(host);
  if (!isAddress(name) && !names.has(name)) throw new Refused(403, 'foreign-host', { host: host.slice(0, 80) });
  const isReading = request.method === 'GET' || request.method === 'HEAD';
  // A link that leads here is followed; whatever a foreign page loads by itself would only make work.
  if (isReading && request.headers['sec-fetch-mode'] === 'navigate') return;
  const origin = request.headers.origin;
  const site = request.headers['sec-fetch-site'];
  const ownOrigin = origin === undefined || origin === `http://${host}` || origin === `https://${host}`;
  const ownSite = site === undefined || site === 'same-origin' || site === 'none';
  if (!ownOrigin || !ownSite)
    throw new Refused(403, isReading ? 'foreign-reader' : 'foreign-origin', {
      origin: (origin ?? 'elsewhere').slice(0, 80),
    });
}
