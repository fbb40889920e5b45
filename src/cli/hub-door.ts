import { randomBytes } from 'node:crypto';
import { say } from '../core/message/message.ts';
import type { Afterwards } from '../run/afterwards/afterwards.ts';
import type { Hub } from '../run/hub.ts';
import type { HubSettings } from '../run/hub-config.ts';
import { hubMeasures } from '../run/hub-measures.ts';
import { type RunningServer, type ServerOptions, startServer } from '../server/app.ts';
import { listenOn } from '../server/listen.ts';
import type { Store } from '../store/store.ts';

export interface DoorOptions {
  readonly config: HubSettings;
  readonly usual: number;
  readonly https: ServerOptions['https'] | null;
  readonly webRoot: string;
  readonly say: (line: string) => void;
}

/**
 * What a hub shows: health and measures always, the office's page while this process keeps the store. When it takes the
 * store over from another, the server begins anew on the same port.
 */
export class HubDoor {
  readonly #options: DoorOptions;
  #hub: Hub | null = null;
  #store: Store | null = null;
  #office: Afterwards | null = null;
  #server: RunningServer | null = null;

  constructor(options: DoorOptions) {
    this.#options = options;
  }

  /** This process has the store from now on. */
  opens(store: Store): void {
    this.#store = store;
    if (!this.#hub) return;
    void this.#again().catch((error: unknown) =>
      this.#options.say(`The office's page could not be opened: ${error instanceof Error ? error.message : ''}`),
    );
  }

  /** Listens, and says where. Throws Problem as `listenOn` does. */
  async listen(hub: Hub): Promise<string> {
    this.#hub = hub;
    const { config, usual } = this.#options;
    this.#server = await this.#start(config.port, usual);
    return this.#server.url;
  }

  async close(): Promise<void> {
    await this.#server?.close();
    await this.#office?.stop();
  }

  async #again(): Promise<void> {
    const port = this.#server?.port ?? null;
    await this.#server?.close();
    this.#server = await this.#start(port, this.#options.usual);
    this.#options.say(`This process keeps the store now. The office's page: ${this.#server.url}`);
  }

  async #start(asked: number | null, usual: number): Promise<RunningServer> {
    const { config, https, webRoot, say: log } = this.#options;
    if (this.#store && !this.#office) {
      const { openAfterwards } = await import('../run/afterwards/afterwards.ts');
      const { createLooker } = await import('../run/afterwards/look-work.ts');
      const wallMs = (): number => Date.now();
      this.#office = openAfterwards({ data: config.data, store: this.#store, looker: createLooker(), wallMs, log });
    }
    const hub = this.#hub;
    return await listenOn(asked, usual, config.host, (port) =>
      startServer({
        host: config.host,
        port,
        ...(this.#office ? { audit: this.#office } : {}),
        ...(https ? { https } : {}),
        health: {
          measures: () => (hub ? hubMeasures(hub.state(), hub.aside().length, process.memoryUsage.rss()) : []),
          problems: () => hub?.state().problems.map(say) ?? [],
        },
        webRoot,
        // No tablet pairs with a hub: people sign in, and this machine itself may do all.
        pairing: { code: randomBytes(12).toString('hex') },
        dataFolder: config.data,
        log,
      }),
    );
  }
}
