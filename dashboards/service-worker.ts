/**
 * Opens the pages while the bridge is away. It keeps the pages and what they name, asks the bridge first and falls back on
 * what it keeps; it never touches /api/, so nothing measured ever comes from a cache. It works only where the browser
 * allows it: https, this machine's own address, or an address that the browser was told to trust.
 */
interface Extendable extends Event {
  waitUntil(what: Promise<unknown>): void;
}
interface Fetching extends Extendable {
  readonly request: Request;
  respondWith(answer: Promise<Response>): void;
}
declare global {
  interface WindowEventMap {
    install: Extendable;
    activate: Extendable;
    fetch: Fetching;
  }
}

const cacheName = 'limpid-pages';
/** The page that opens from the home screen, and those that it leads to. */
const pages = ['/', '/kit.html', '/trust.html'];
const extras = ['/manifest.webmanifest', '/icon-192.png'];
/** A bridge that is slower than this is taken for away; the page then says what it knows. */
const patienceMs = 3000;

/** What a page or a script names of the built files; a name carries a hash of its content. */
function namedIn(text: string): string[] {
  const names = [...text.matchAll(/[\w-]+-[\w-]{8}\.(?:js|css|svg)/g)].map(([name]) => `/assets/${name}`);
  return [...new Set(names)];
}

/** Keeps a file and, from there on, all that it names; what is there already is not fetched again. */
async function keepWhole(cache: Cache, url: string, kept: Set<string>): Promise<void> {
  if (kept.has(url)) return;
  kept.add(url);
  const known = url.startsWith('/assets/') ? await cache.match(url) : undefined;
  const answer = known ?? (await fetch(url, { cache: 'no-cache' }));
  if (!answer.ok) return;
  if (known === undefined) await cache.put(url, answer.clone());
  if (/\.(?:css|svg|png)$/.test(url)) return;
  for (const name of namedIn(await answer.text())) await keepWhole(cache, name, kept);
}

/** Everything of the pages as the bridge has them now; what none of them names any more goes. */
async function renew(): Promise<void> {
  const cache = await caches.open(cacheName);
  const kept = new Set<string>();
  for (const url of [...pages, ...extras]) await keepWhole(cache, url, kept);
  for (const request of await cache.keys()) {
    const { pathname } = new URL(request.url);
    if (pathname.startsWith('/assets/') && !kept.has(pathname)) await cache.delete(request);
  }
}

/** The bridge's page, or the one that was kept when no answer comes in time. */
async function openPage(request: Request): Promise<Response> {
  const cache = await caches.open(cacheName);
  try {
    const answer = await fetch(request, { signal: AbortSignal.timeout(patienceMs) });
    if (answer.ok) void renew().catch(() => undefined);
    return answer;
  } catch {
    const known = await cache.match(request, { ignoreSearch: true });
    return known ?? (await cache.match('/')) ?? Response.error();
  }
}

async function openFile(request: Request): Promise<Response> {
  const cache = await caches.open(cacheName);
  const known = await cache.match(request);
  if (known !== undefined) return known;
  const answer = await fetch(request);
  if (answer.ok && new URL(request.url).pathname.startsWith('/assets/')) await cache.put(request, answer.clone());
  return answer;
}

addEventListener('install', (event) => event.waitUntil(renew()));

addEventListener('fetch', (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (request.method !== 'GET' || origin !== location.origin || pathname.startsWith('/api/')) return;
  if (pathname === '/healthz' || pathname.endsWith('.crt')) return;
  event.respondWith(request.mode === 'navigate' ? openPage(request) : openFile(request));
});

export {};
