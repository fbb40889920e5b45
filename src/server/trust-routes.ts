import type { FastifyInstance } from 'fastify';
import { of } from './limits.ts';
import type { Reach } from './protocol.ts';
import type { Tls } from './tls/keep.ts';

/** What a tablet needs to trust this bridge: its authority's certificate, and how the bridge is reached by https. */
export function addTrustRoutes(app: FastifyInstance, tls: Tls | null, httpsPort: () => number | null): void {
  app.get('/api/reach', of('look'), (): Reach => {
    const port = httpsPort();
    return { https: tls === null || port === null ? null : { port, fingerprint: tls.fingerprint } };
  });
  if (tls === null) return;
  // A tablet takes this type for a certificate to be installed.
  app.get('/limpid-authority.crt', (_request, reply) =>
    reply
      .type('application/x-x509-ca-cert')
      .header('content-disposition', 'attachment; filename="limpid-authority.crt"')
      .send(tls.authority),
  );
}
