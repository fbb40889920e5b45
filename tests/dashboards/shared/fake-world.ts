import type { LinkWorld, Stream } from '../../../dashboards/shared/link.ts';
import { createPush } from '../../../src/server/push.ts';
import { traceQuerySchema } from '../../../src/server/routes.ts';
import { createFakeBridge, type FakeBridge } from '../../src/server/fake-bridge.ts';
import { Writable } from 'node:stream';

interface Timer {
  readonly atMs: number;
  readonly fn: () => void;
}

/** A browser, a network that can be cut, and a bridge with its real push, on one hand-driven clock. */
export class FakeWorld implements LinkWorld {
  bridge: FakeBridge = createFakeBridge();
  push = createPush(this.bridge);
  cut = false;
  /** Open but dead: nothing comes, nothing fails. */
  silent = false;
  opened: { url: string; atMs: number }[] = [];
  ms = 0;
  #timers: Timer[] = [];
  #streams = new Set<Writable>();

  nowMs(): number {
    return this.ms;
  }

  random(): number {
    return 0.5;
  }

  after(ms: number, fn: () => void): () => void {
    const timer = { atMs: this.ms + ms, fn };
    this.#timers.push(timer);
    return () => {
      this.#timers = this.#timers.filter((t) => t !== timer);
    };
  }

  fetchJson(url: string): Promise<unknown> {
    if (this.cut) return Promise.reject(new Error('network'));
    if (url.startsWith('/api/view')) return Promise.resolve(this.bridge.view());
    const { fromS } = traceQuerySchema.parse(Object.fromEntries(new URL(url, 'http://x').searchParams));
    return Promise.resolve({ ...this.bridge.trace(fromS, 1e9), at: this.push.at() });
  }

  openStream(url: string): Stream {
    this.opened.push({ url, atMs: this.ms });
    const listeners = new Map<string, (data: string, id: string) => void>();
    const out = new Writable({
      write: (chunk, _encoding, done) => {
        const text = String(chunk);
        const name = /^event: (.+)$/m.exec(text)?.[1] ?? '';
        if (!this.silent)
          listeners.get(name)?.(/^data: (.+)$/m.exec(text)?.[1] ?? '', /^id: (.+)$/m.exec(text)?.[1] ?? '');
        done();
      },
    });
    const after = new URL(url, 'http://x').searchParams.get('after') ?? undefined;
    if (this.cut) this.after(1, () => listeners.get('error')?.('', ''));
    else {
      this.#streams.add(out);
      out.on('close', () => this.#streams.delete(out));
      out.on('broken', () => listeners.get('error')?.('', ''));
      this.after(1, () => this.push.attach(out, after));
    }
    return { on: (type, fn) => void listeners.set(type, fn), close: () => void out.destroy() };
  }

  breakStreams(): void {
    this.cut = true;
    for (const out of this.#streams) {
      out.destroy();
      out.emit('broken');
    }
  }

  /** The bridge is killed and started again: same run, new epoch, the last `lostS` of rows gone. */
  restart(): void {
    this.breakStreams();
    this.push.close();
    this.push = createPush(this.bridge);
    this.cut = false;
  }

  /** Let real time pass; the bridge plays along at 10 Hz and beats each second. */
  async pass(seconds: number): Promise<void> {
    for (let i = 0; i < Math.round(seconds * 10); i += 1) {
      this.ms += 100;
      this.bridge.play(0.1);
      if (this.ms % 1000 === 0) this.bridge.beat();
      for (const timer of [...this.#timers].filter((t) => t.atMs <= this.ms)) {
        this.#timers = this.#timers.filter((t) => t !== timer);
        timer.fn();
      }
      await new Promise((done) => setImmediate(done));
    }
  }
}
