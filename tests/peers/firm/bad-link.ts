import { connect, createServer, type Server, type Socket } from 'node:net';

/** How bad a link is now. */
export interface Link {
  /** Milliseconds that each piece takes. */
  delayMs: number;
  /** Bytes a second, each way. */
  bytesPerS: number;
  /** Nothing goes through, and nobody is told. */
  hole: boolean;
}

/** A way to `port` of this machine that can be made as bad as a cellar's. */
export async function badLink(port: number): Promise<{
  readonly port: number;
  readonly link: Link;
  /** Ends every connection at once. */
  cut(): number;
  close(): Promise<void>;
}> {
  const link: Link = { delayMs: 0, bytesPerS: Number.POSITIVE_INFINITY, hole: false };
  const open = new Set<Socket>();
  const server: Server = createServer((near) => {
    const far = connect(port, '127.0.0.1');
    for (const [from, to] of [
      [near, far],
      [far, near],
    ] as const) {
      open.add(from);
      let last: Promise<void> = Promise.resolve();
      from.on('data', (bytes) => {
        from.pause();
        last = last.then(() => pass(bytes, to, link)).then(() => void from.resume());
      });
      from.on('error', () => undefined);
      from.on('close', () => {
        open.delete(from);
        to.destroy();
      });
    }
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', () => resolve()));
  const address = server.address();
  const cut = (): number => {
    const count = open.size / 2;
    for (const socket of open) socket.destroy();
    return count;
  };
  return {
    port: typeof address === 'object' && address !== null ? address.port : 0,
    link,
    cut,
    close: () =>
      new Promise((resolve) => {
        server.close(() => resolve());
        cut();
      }),
  };
}

const wait = (ms: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, ms));

async function pass(bytes: Buffer, to: Socket, link: Link): Promise<void> {
  for (let at = 0; at < bytes.length; at += 1024) {
    while (link.hole && !to.destroyed) await wait(50);
    const piece = bytes.subarray(at, at + 1024);
    const ms = link.delayMs + (piece.length / link.bytesPerS) * 1000;
    if (ms >= 1) await wait(ms);
    if (to.destroyed) return;
    to.write(piece);
  }
}
