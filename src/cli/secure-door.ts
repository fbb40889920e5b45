import { hostname } from 'node:os';
import { defaultHttpsPort } from '../run/config.ts';
import type { ServerOptions } from '../server/app.ts';
import { lanAddresses } from '../server/listen.ts';

/** Key and certificate of this machine's own, kept in its data folder, and the ports to try (0: the first free one). */
export async function secureDoor(data: string, port: number): Promise<NonNullable<ServerOptions['https']>> {
  const { keepTls } = await import('../server/tls/keep.ts');
  const host = hostname().toLowerCase().split('.')[0] ?? '';
  const names = ['localhost', `${host}.local`, '127.0.0.1', '::1', ...lanAddresses()];
  const ports = port === 0 ? Array.from({ length: 100 }, (_, i) => defaultHttpsPort + i) : [port];
  return { ports, tls: keepTls(data, host, names, Date.now()) };
}
