import { Reconnect, type Deaf, type LinkInput } from './reconnect.ts';
import type { Transport, TransportClock, TransportListener, TransportProblem, TransportState } from './transport.ts';

/** Something that can be opened, a port: one attempt, then what became of it. */
export interface Plug {
  /** Never rejects. The callbacks may be called only between opening and `close`. */
  open(on: PlugEvents): Promise<OpenPlug | PlugRefusal>;
}

export interface PlugEvents {
  bytes(chunk: Uint8Array): void;
  message(topic: string, payload: Uint8Array): void;
  lost(problem: TransportProblem): void;
}

export interface OpenPlug {
  write(bytes: Uint8Array, kit?: string): Promise<boolean>;
  close(): Promise<void>;
}

export interface PlugRefusal {
  readonly problem: TransportProblem;
  readonly absent: boolean;
}

/** Judges an open link by what is heard of it. Time comes in; seconds, monotonic. */
export interface LinkEar {
  opened(nowS: number): void;
  heard(nowS: number): void;
  judge(nowS: number): Deaf | null;
}

/** A transport that keeps one plug open for ever: carries out the orders of `Reconnect`. */
export class KeptLink implements Transport {
  readonly name: string;
  readonly #plug: Plug;
  readonly #clock: TransportClock;
  readonly #ear: LinkEar;
  readonly #reconnect = new Reconnect();
  #state: TransportState = { kind: 'closed' };
  #listener: TransportListener | null = null;
  #open: OpenPlug | null = null;
  #cancel: (() => void) | null = null;
  /** Each attempt has a number; what an earlier one still says is not heard. */
  #attempt = 0;
  #work: Promise<void> = Promise.resolve();

  constructor(name: string, plug: Plug, clock: TransportClock, ear: LinkEar) {
    this.name = name;
    this.#plug = plug;
    this.#clock = clock;
    this.#ear = ear;
  }

  get state(): TransportState {
    return this.#state;
  }

  open(listener: TransportListener): Promise<void> {
    this.#listener = listener;
    this.#step({ kind: 'start' });
    return this.#work;
  }

  async send(bytes: Uint8Array, kit?: string): Promise<boolean> {
    return this.#open ? await this.#open.write(bytes, kit) : false;
  }

  async close(): Promise<void> {
    this.#step({ kind: 'close' });
    this.#listener = null;
    await this.#work;
  }

  #step(input: LinkInput): void {
    const order = this.#reconnect.step(input, this.#clock.nowS());
    if (order.wakeS !== null || order.action !== null) this.#wakeAt(order.wakeS);
    if (order.action !== null) this.#act(order.action);
    if (order.tell === null) return;
    this.#state = order.tell;
    this.#listener?.state(order.tell);
  }

  #wakeAt(wakeS: number | null): void {
    this.#cancel?.();
    this.#cancel = null;
    if (wakeS === null) return;
    this.#cancel = this.#clock.after(Math.max(0, wakeS - this.#clock.nowS()), () => {
      this.#cancel = null;
      this.#step({ kind: 'listen', deaf: this.#ear.judge(this.#clock.nowS()) });
    });
  }

  /** Opening and closing follow one another, however fast the orders come: a port has one owner at a time. */
  #act(action: 'open' | 'close' | 'reopen'): void {
    const attempt = ++this.#attempt;
    const before = this.#work;
    this.#work = (async () => {
      await before;
      const old = this.#open;
      this.#open = null;
      await old?.close();
      if (action !== 'close' && attempt === this.#attempt) await this.#try(attempt);
    })();
  }

  async #try(attempt: number): Promise<void> {
    const current = () => attempt === this.#attempt;
    const got = await this.#plug.open({
      bytes: (chunk) => {
        if (current()) this.#heard((atS) => this.#listener?.bytes(chunk, atS));
      },
      message: (topic, payload) => {
        if (current()) this.#heard((atS) => this.#listener?.message?.(topic, payload, atS));
      },
      lost: (problem) => {
        if (current()) this.#lost(problem);
      },
    });
    if ('write' in got && !current()) await got.close();
    if (!current()) return;
    if ('write' in got) {
      this.#open = got;
      // A deaf link that is opened anew stays deaf until something is heard.
      if (this.#state.kind !== 'silent') this.#ear.opened(this.#clock.nowS());
      this.#step({ kind: 'opened' });
    } else this.#step({ kind: 'failed', ...got });
  }

  #heard(pass: (atS: number) => void): void {
    const atS = this.#clock.nowS();
    this.#ear.heard(atS);
    pass(atS);
    if (this.#state.kind === 'silent') this.#step({ kind: 'listen', deaf: this.#ear.judge(atS) });
  }

  /** What is left of the plug is closed before the next try. */
  #lost(problem: TransportProblem): void {
    this.#step({ kind: 'lost', problem });
  }
}
