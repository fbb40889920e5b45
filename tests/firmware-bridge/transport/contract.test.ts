import type { PipePeer } from '../../../firmware-bridge/transport/pipe-peer.ts';
import { pipeTransport } from '../../../firmware-bridge/transport/pipe.ts';
import { replayTransport } from '../../../firmware-bridge/transport/replay.ts';
import { realClock } from '../../contracts/transport-clocks.ts';
import { transportContract } from '../../contracts/transport.contract.ts';

class Peer implements PipePeer {
  #toBridge: ((bytes: Uint8Array) => void) | null = null;
  got: Uint8Array[] = [];

  start(toBridge: (bytes: Uint8Array) => void): void {
    this.#toBridge = toBridge;
  }

  fromBridge(bytes: Uint8Array): void {
    this.got.push(bytes);
  }

  stop(): void {
    this.#toBridge = null;
  }

  say(bytes: Uint8Array): void {
    this.#toBridge?.(bytes);
  }
}

const nothing = () => Promise.resolve();

transportContract('pipe', () => {
  const peer = new Peer();
  return Promise.resolve({
    transport: pipeTransport('simulated rig', peer, realClock),
    send: (chunks) => {
      for (const chunk of chunks) peer.say(chunk);
      return Promise.resolve();
    },
    received: () => Buffer.concat(peer.got),
    dispose: nothing,
  });
});

for (const speed of [1, 1000, 'all'] as const)
  transportContract(`replay at speed ${speed}`, (toSend) =>
    Promise.resolve({
      transport: replayTransport({
        name: 'replay of a recording',
        source: toSend.map((bytes, i) => ({ atS: 100 + i * (speed === 1 ? 0.005 : 1), bytes })),
        speed,
        clock: realClock,
      }),
      send: nothing,
      received: null,
      dispose: nothing,
    }),
  );
