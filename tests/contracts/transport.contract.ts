import { afterEach, describe, expect, test } from 'vitest';
import type { Transport, TransportListener, TransportState } from '../../firmware-bridge/transport/transport.ts';
import { until } from './transport-clocks.ts';

/** A transport and what stands at its far end. */
export interface TransportCase {
  readonly transport: Transport;
  /** Let the far end send these chunks, in order, from its beginning. Called after `open`. */
  send(chunks: readonly Uint8Array[]): Promise<void>;
  /** What the far end has received so far; null when nothing can be told to it (a recording). */
  readonly received: (() => Uint8Array) | null;
  dispose(): Promise<void>;
}

/** Keeps what a transport tells. */
export class Ear implements TransportListener {
  readonly states: TransportState[] = [];
  readonly chunks: Uint8Array[] = [];
  readonly times: number[] = [];

  bytes(chunk: Uint8Array, atS: number): void {
    this.chunks.push(chunk.slice());
    this.times.push(atS);
  }

  message(_topic: string, payload: Uint8Array, atS: number): void {
    this.bytes(payload, atS);
  }

  state(state: TransportState): void {
    this.states.push(state);
  }

  get kinds(): string[] {
    return this.states.map((s) => s.kind);
  }

  get text(): string {
    return Buffer.concat(this.chunks).toString('latin1');
  }
}

const chunks = Array.from({ length: 40 }, (_, i) => Buffer.from(`line ${i} ${'*'.repeat(i)}\r\n`));
const whole = Buffer.concat(chunks).toString('latin1');

/** What every transport promises. `make` gives a fresh one, with `toSend` ready at its far end. */
export function transportContract(name: string, make: (toSend: readonly Uint8Array[]) => Promise<TransportCase>): void {
  describe(`contract of a transport: ${name}`, () => {
    const made: TransportCase[] = [];
    const fresh = async (): Promise<TransportCase> => {
      const one = await make(chunks);
      made.push(one);
      return one;
    };
    afterEach(async () => {
      for (const one of made.splice(0)) {
        await one.transport.close();
        await one.dispose();
      }
    });

    test('is closed until it is opened, and opening tells so', async () => {
      const { transport } = await fresh();
      const ear = new Ear();
      expect(transport.name).not.toBe('');
      expect(transport.state.kind).toBe('closed');
      await transport.open(ear);
      expect(ear.kinds.slice(0, 2)).toEqual(['opening', 'open']);
      expect(transport.state).toBe(ear.states.at(-1));
    });

    test('brings every byte, in order, at times that do not go back', async () => {
      const one = await fresh();
      const ear = new Ear();
      await one.transport.open(ear);
      await one.send(chunks);
      await until('all bytes', () => ear.text.length >= whole.length);
      expect(ear.text).toBe(whole);
      for (const [i, atS] of ear.times.entries()) expect(atS).toBeGreaterThanOrEqual(ear.times[i - 1] ?? atS);
    });

    test('sends only while it is open, and says whether it could', async () => {
      const one = await fresh();
      const { transport, received } = one;
      const order = Buffer.from('[{"n":"do-hello","vb":true}]\n');
      expect(await transport.send(order)).toBe(false);
      await transport.open(new Ear());
      expect(await transport.send(order)).toBe(received !== null);
      const arrived = received ?? (() => order);
      await until('the order at the far end', () => arrived().length >= order.length);
      expect(Buffer.from(arrived()).equals(order)).toBe(true);
      await transport.close();
      expect(await transport.send(order)).toBe(false);
    });

    test('closes once however often it is told, and then says nothing more', async () => {
      const one = await fresh();
      const ear = new Ear();
      await one.transport.open(ear);
      await Promise.all([one.transport.close(), one.transport.close()]);
      await one.transport.close();
      expect(ear.kinds.filter((kind) => kind === 'closed')).toHaveLength(1);
      expect(one.transport.state.kind).toBe('closed');
      const told = ear.states.length + ear.chunks.length;
      await one.send(chunks);
      await new Promise((resolve) => setTimeout(resolve, 30));
      expect(ear.states.length + ear.chunks.length).toBe(told);
    });

    test('may be closed while it is being opened, and opened again', async () => {
      const one = await fresh();
      const first = new Ear();
      const opening = one.transport.open(first);
      await one.transport.close();
      await opening;
      expect(one.transport.state.kind).toBe('closed');
      const second = new Ear();
      await one.transport.open(second);
      await one.send(chunks);
      await until('all bytes', () => second.text.length >= whole.length);
      expect(second.text).toBe(whole);
      expect(first.chunks).toEqual([]);
    });
  });
}
