import { once } from 'node:events';
import { connect, createServer, type Socket } from 'node:net';

/** A wire between a page and the bridge that can be cut and mended, as Wi-Fi is on a walk through a house. */
export interface Wifi {
  readonly url: string;
  readonly port: number;
  cut(): void;
  mend(): void;
  close(): Promise<void>;
}

export async function openWifi(bridgePort: () => number): Promise<Wifi> {
  const sockets = new Set<Socket>();
  let isCut = false;
  const server = createServer((near) => {
    if (isCut) return near.destroy();
    const far = connect(bridgePort(), '127.0.0.1');
    for (const socket of [near, far]) {
      sockets.add(socket);
      socket.on('close', () => sockets.delete(socket));
      socket.on('error', () => undefined);
    }
    near.pipe(far).pipe(near);
    near.on('close', () => far.destroy());
    far.on('close', () => near.destroy());
    return undefined;
  });
  server.listen(0, '127.0.0.1');
  await once(server, 'listening');
  const address = server.address();
  const port = typeof address === 'object' && address !== null ? address.port : 0;
  const destroyAll = () => {
    for (const socket of sockets) socket.destroy();
  };
  return {
    url: `http://127.0.0.1:${port}`,
    port,
    cut() {
      isCut = true;
      destroyAll();
    },
    mend() {
      isCut = false;
    },
    async close() {
      const closed = once(server, 'close');
      server.close();
      destroyAll();
      await closed;
    },
  };
}
