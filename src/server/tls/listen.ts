import { once } from 'node:events';
import type { Server } from 'node:http';
import { createServer } from 'node:https';
import { Problem } from '../../core/message/problem.ts';
import type { Tls } from './keep.ts';

/** A second door to the same server, by https. */
export interface Secure {
  readonly port: number;
  close(): Promise<void>;
}

/**
 * Requests that come by https are answered by the very server that answers http.
 * @param ports Tried in turn; 0 is any free one.
 * @param watch Told of the server before it listens. Throws Problem `run.port-taken` when none of them is free.
 */
export async function listenSecurely(
  plain: Server,
  host: string,
  ports: readonly number[],
  tls: Tls,
  watch: (server: Server) => void,
): Promise<Secure> {
  const server = createServer({ key: tls.key, cert: tls.cert, minVersion: 'TLSv1.2' }, (request, response) => {
    plain.emit('request', request, response);
  });
  watch(server);
  for (const port of ports) {
    server.listen({ host, port });
    const isFree = await Promise.race([
      once(server, 'listening').then(() => true),
      once(server, 'error').then(() => false),
    ]).catch(() => false);
    if (isFree) break;
  }
  const address = server.address();
  if (typeof address !== 'object' || address === null) throw new Problem('run.port-taken', { port: ports[0] ?? 0 });
  return {
    port: address.port,
    async close() {
      const closed = once(server, 'close');
      server.close();
      server.closeAllConnections();
      await closed;
    },
  };
}
