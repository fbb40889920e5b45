import { networkInterfaces } from 'node:os';
import { Problem } from '../core/message/problem.ts';

/**
 * Starts at the port asked for, or at the first free one from `usual` on. Throws Problem: the port is taken or not
 * allowed, no such address here.
 */
export async function listenOn<T>(
  asked: number | null,
  usual: number,
  host: string,
  start: (port: number) => Promise<T>,
): Promise<T> {
  for (let n = asked ?? usual; ; n++) {
    try {
      return await start(n);
    } catch (error) {
      const code = error instanceof Error && 'code' in error ? error.code : '';
      if (code === 'EADDRINUSE' && asked === null && n < usual + 100) continue;
      throw whyNotListening(code, n, host) ?? error;
    }
  }
}

function whyNotListening(code: unknown, port: number, host: string): Problem | null {
  switch (code) {
    case 'EADDRINUSE':
      return new Problem('run.port-taken', { port });
    case 'EACCES':
      return new Problem('run.port-denied', { port, host });
    case 'EADDRNOTAVAIL':
    case 'ENOTFOUND':
    case 'EAI_AGAIN':
      return new Problem('run.host-unknown', { host, known: ['127.0.0.1', ...lanAddresses()].join(', ') });
    default:
      return null;
  }
}

/** IPv4 addresses under which a tablet in the same network reaches this machine. */
export function lanAddresses(): string[] {
  return Object.values(networkInterfaces())
    .flatMap((addresses) => addresses ?? [])
    .filter((a) => a.family === 'IPv4' && !a.internal)
    .map((a) => a.address);
}
