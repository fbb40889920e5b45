import { connect, type Socket } from 'node:net';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { runViewSchema } from '../../src/server/protocol.ts';
import { generator } from './generator.ts';
import { mutate } from './mutate.ts';
import { type Served, serve } from '../src/server/served.ts';

let served: Served;
beforeAll(async () => {
  served = await serve();
});
afterAll(() => served.close());

const seeds = [
  'GET /api/view HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n',
  'GET /api/trace?fromS=1&toS=2&points=100 HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n',
  'GET /api/live?after=3 HTTP/1.1\r\nHost: 127.0.0.1\r\nLast-Event-ID: 5\r\nConnection: close\r\n\r\n',
  'POST /api/events HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\nContent-Length: 60\r\nConnection: close\r\n\r\n{"id":"abcdefgh-1","event":"note","note":"x","emitter":"e1"}',
  'POST /api/pair HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\nContent-Length: 34\r\nConnection: close\r\n\r\n{"code":"000000","name":"a tablet"}',
];
/** Sends it, and takes what comes for a moment. */
async function send(bytes: Buffer): Promise<string> {
  return await new Promise((resolve) => {
    const socket = connect(served.server.port, '127.0.0.1');
    let said = '';
    const end = (): void => {
      socket.destroy();
      resolve(said);
    };
    // An answer in full closes the line; a live stream and half a request do not, and are left.
    const timer = setTimeout(end, 150);
    socket.on('data', (chunk) => {
      said += chunk.toString('latin1');
    });
    socket.on('close', () => {
      clearTimeout(timer);
      resolve(said);
    });
    socket.on('error', () => undefined);
    socket.write(bytes);
  });
}

const alive = async (): Promise<void> => {
  const reply = await fetch(`${served.server.url}/api/view`);
  expect(runViewSchema.safeParse(await reply.json()).success).toBe(true);
};

describe('the server', () => {
  it('meets thousands of broken requests with a refusal or nothing, and no fault of its own', async () => {
    const random = generator(7);
    for (let round = 0; round < 60; round++) {
      const said = await Promise.all(
        Array.from({ length: 40 }, () =>
          send(mutate(Buffer.from(seeds[Math.floor(random() * seeds.length)] ?? '', 'latin1'), random)),
        ),
      );
      expect(said.filter((answer) => answer !== '' && !/^HTTP\/1\.[01] (?!5)\d{3}/.test(answer))).toEqual([]);
    }
    await alive();
    expect(served.logged.filter((line) => line.includes('fault'))).toEqual([]);
  });

  it('gives hundreds of pages that read nothing their place, and does not let them hold the others up', async () => {
    const sleepers: Socket[] = [];
    for (let i = 0; i < 300; i++) {
      const socket = connect(served.server.port, '127.0.0.1');
      socket.on('error', () => undefined);
      socket.pause();
      socket.write('GET /api/live HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n');
      sleepers.push(socket);
    }
    const before = process.memoryUsage.rss();
    for (let s = 0; s < 300; s++) {
      served.bridge.play(1);
      served.bridge.beat();
      if (s % 50 === 0) await alive();
    }
    await new Promise((resolve) => setTimeout(resolve, 500));
    await alive();
    // What is held for those that sleep is bounded: one ring for all, and each one's own line.
    expect((process.memoryUsage.rss() - before) / 1e6).toBeLessThan(150);
    for (const socket of sleepers) socket.destroy();
    await alive();
  });
});
