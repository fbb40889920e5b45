import type { Browser, BrowserContextOptions, Page } from 'playwright-core';
import { type RunningServer, startServer } from '../../src/server/app.ts';
import { createFakeBridge, type FakeBridge } from '../src/server/fake-bridge.ts';

/** The built pages; another build can be tried by LIMPID_WEB. */
export const webRoot = process.env['LIMPID_WEB'] ?? 'dist/web';
export const code = '246810';

/** A page of the rig whose water is played by hand. */
export interface FakePage {
  readonly bridge: FakeBridge;
  readonly page: Page;
  readonly complaints: string[];
  server: RunningServer;
  tell(event: string, emitter: string, note?: string): Promise<void>;
  /** Water and beats go on by themselves, as they do at a rig. */
  run(): () => void;
  close(): Promise<void>;
}

export async function openFake(
  browser: Browser,
  options: BrowserContextOptions & { readonly path?: string; readonly before?: (b: FakeBridge) => Promise<void> } = {},
): Promise<FakePage> {
  const { path = '/', before, ...contextOptions } = options;
  const bridge = createFakeBridge();
  bridge.play(30);
  await before?.(bridge);
  const server = await startServer({ host: '127.0.0.1', port: 0, bridge, webRoot, pairing: { code } });
  const context = await browser.newContext({ viewport: { width: 1280, height: 800 }, ...contextOptions });
  const page = await context.newPage();
  page.setDefaultTimeout(60_000);
  const complaints: string[] = [];
  page.on('pageerror', (error) => complaints.push(error.message));
  page.on('console', (message) => {
    if (message.type() === 'error' && !message.text().includes('Failed to load')) complaints.push(message.text());
  });
  await page.goto(`${server.url}${path}`);
  const timers: (() => void)[] = [];
  const fake: FakePage = {
    bridge,
    page,
    complaints,
    server,
    async tell(event, emitter, note = '') {
      await bridge.post({ id: `${event}-${emitter}-${bridge.timeS}`, event, emitter, note, agoS: 0 }, 'loopback');
    },
    run() {
      const timer = setInterval(() => {
        bridge.play(0.1);
        bridge.beat();
      }, 200);
      const stop = () => clearInterval(timer);
      timers.push(stop);
      return stop;
    },
    async close() {
      for (const stop of timers) stop();
      await context.close();
      await fake.server.close().catch(() => undefined);
    },
  };
  return fake;
}

/** Two passes of one emitter: the first with a heavy pulse, the second under way. */
export async function twoPasses(bridge: FakeBridge): Promise<void> {
  const tell = (event: string) =>
    bridge.post({ id: `${event}-e3-${bridge.timeS}`, event, emitter: 'e3', note: '', agoS: 0 }, 'loopback');
  await tell('emitter-open');
  bridge.play(20);
  await tell('agitate-end');
  bridge.play(110);
  await tell('agitate-end');
  bridge.play(40);
}
