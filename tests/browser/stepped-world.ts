import type { Page } from 'playwright-core';
import { startServer } from '../../src/server/app.ts';
import { rehearse, type Rehearsal } from '../src/run/rehearse.ts';

/** The whole bridge on stepped time behind a real server: hours pass in seconds, and the page sees them come. */
export interface SteppedWorld {
  readonly url: string;
  readonly rehearsal: Rehearsal;
  /** Lets so many seconds of the run go by. */
  go(seconds: number): void;
  /** What the engineer tells, taken at once; throws when it is refused. */
  tell(event: string, emitter?: string, more?: { note?: string; data?: Record<string, number> }): Promise<void>;
  close(): Promise<void>;
}

export async function steppedWorld(
  seed: number,
  webRoot = process.env['LIMPID_WEB'] ?? 'dist/web',
): Promise<SteppedWorld> {
  const rehearsal = await rehearse(seed);
  const server = await startServer({
    host: '127.0.0.1',
    port: 0,
    bridge: rehearsal.run,
    webRoot,
    pairing: { code: '246810' },
  });
  // The page must hear that the bridge lives while nothing happens.
  const beat = setInterval(() => rehearsal.clock.run(0.25), 250);
  let taps = 0;
  return {
    url: server.url,
    rehearsal,
    go: (seconds) => rehearsal.clock.run(seconds),
    async tell(event, emitter = '', { note = '', data } = {}) {
      const answer = await rehearsal.run.post(
        { id: `world-tap-${++taps}`, event, emitter, note, agoS: 0, ...(data ? { data } : {}) },
        'loopback',
      );
      if ('status' in answer) throw new Error(answer.text);
    },
    async close() {
      clearInterval(beat);
      await server.close();
      rehearsal.close();
      rehearsal.remove();
    },
  };
}

/** A picture of now, once the page has drawn what it heard last. */
export async function drawn(page: Page): Promise<void> {
  await page.waitForTimeout(700);
}
