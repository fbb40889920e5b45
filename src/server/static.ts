import { existsSync } from 'node:fs';
import { join, resolve } from 'node:path';
import fastifyStatic from '@fastify/static';
import type { FastifyInstance } from 'fastify';

const notBuilt = `<!doctype html>
<html lang="en">
<meta charset="utf-8">
<meta name="viewport" content="width=device-width">
<title>Limpid: the page is not built</title>
<h1>The page is not built yet</h1>
<p>The bridge runs, but its page has not been built in this checkout. On the machine of the bridge, run</p>
<pre>npm run build</pre>
<p>then reload. The interface for programs is described at <a href="/api/openapi.json">/api/openapi.json</a>.</p>
</html>
`;

/** Serves the built pages; in a checkout without a build, a page that says what to run. */
export async function serveStatic(app: FastifyInstance, webRoot: string): Promise<void> {
  const root = resolve(webRoot);
  if (!existsSync(join(root, 'index.html'))) {
    // A hub leads from '/' to its own page.
    const url = app.hasRoute({ method: 'GET', url: '/' }) ? '/audit.html' : '/';
    app.get(url, (_request, reply) => reply.type('text/html; charset=utf-8').send(notBuilt));
    return;
  }
  await app.register(async (pages: FastifyInstance) => {
    // What a file says of its keeping goes before what holds for all answers.
    pages.addHook('onSend', (_request, reply, _payload, done) => {
      const kept = reply.raw.getHeader('cache-control');
      if (kept !== undefined) reply.header('cache-control', kept);
      done();
    });
    await pages.register(fastifyStatic, {
      root,
      cacheControl: false,
      setHeaders: (response, path) => {
        // Names under assets/ carry a hash of their content; the page itself is asked for again each time.
        const forEver = path.startsWith(join(root, 'assets'));
        response.setHeader('cache-control', forEver ? 'public, max-age=31536000, immutable' : 'no-cache');
      },
    });
  });
}
