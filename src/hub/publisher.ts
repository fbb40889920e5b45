import type { IPublishPacket, MqttClient, Packet } from 'mqtt';
import type { Message } from '../core/message/message.ts';
import { type BrokerAt, joinBroker, shownBroker } from './broker-line.ts';
import type { Outbox, Outgoing } from './outbox.ts';
import { type Have, haveSchema, haveTopic, upTopic } from './part.ts';

export interface PublisherOptions {
  readonly broker: BrokerAt;
  readonly rig: string;
  readonly outbox: Outbox;
  readonly clock: { nowS(): number; every(realS: number, fn: () => void): () => void };
  /** The firm told that it has more: keep this over a restart. */
  readonly confirmed: () => void;
  /** The state of the link changed. */
  readonly told: (state: LinkState) => void;
}

export interface LinkState {
  readonly joined: boolean;
  /** Why nothing goes out; null when it does. */
  readonly problem: Message | null;
}

/** Sent and not yet answered by the broker: so much at most, so that a slow link holds nothing of the live path up. */
const mostMessages = 8;
const mostBytes = 512 * 1024;
const lookS = 1;
/** The broker said no: not asked again before this (seconds). */
const refusedWaitS = 60;
/** Nobody subscribed (MQTT 5 section 3.4.2.1): the broker would drop it. */
const nobody = 16;
const notAuthorized = 135;

/** Sends a rig's outbox to the firm's broker, at QoS 1, for ever; the firm's `have` moves it on. */
export class Publisher {
  readonly #options: PublisherOptions;
  #client: MqttClient | null = null;
  #stopLook: () => void = () => undefined;
  #messages = 0;
  #bytes = 0;
  #waitUntilS = 0;
  #state: LinkState = { joined: false, problem: null };

  constructor(options: PublisherOptions) {
    this.#options = options;
  }

  async start(): Promise<void> {
    const { broker, rig, clock } = this.#options;
    const client = await joinBroker(broker, false);
    this.#client = client;
    client.on('connect', () => {
      client.subscribe(haveTopic(rig), { qos: 1 }, () => undefined);
      this.#tell({ joined: true, problem: null });
      this.#pump();
    });
    client.on('message', (_topic: string, payload: Uint8Array) => this.#have(payload));
    client.on('error', (error: Error) => this.#away(error.message));
    client.on('close', () => this.#away(null));
    this.#stopLook = clock.every(lookS, () => {
      this.#options.outbox.rewindStalled(clock.nowS());
      this.#pump();
    });
  }

  async stop(): Promise<void> {
    this.#stopLook();
    const client = this.#client;
    this.#client = null;
    if (client) await new Promise<void>((resolve) => client.end(true, {}, () => resolve()));
  }

  #pump(): void {
    const { outbox, clock } = this.#options;
    while (this.#client?.connected && clock.nowS() >= this.#waitUntilS) {
      if (this.#messages >= mostMessages || this.#bytes >= mostBytes) return;
      const out = outbox.next(clock.nowS());
      if (!out) return;
      this.#send(this.#client, out);
    }
  }

  #send(client: MqttClient, out: Outgoing): void {
    const bytes = out.payload.length;
    this.#messages += 1;
    this.#bytes += bytes;
    client.publish(upTopic(this.#options.rig, out.leaf), out.payload, { qos: 1 }, (error, packet) => {
      this.#messages -= 1;
      this.#bytes -= bytes;
      // What the broker did not take is sent again: the outbox goes back to where the firm is.
      if (error) this.#refused(codeOf(error));
      else if (codeOf(packet) === nobody) this.#refused(nobody);
      else this.#pump();
    });
  }

  #refused(code: number | null): void {
    const { broker, rig, clock } = this.#options;
    this.#waitUntilS = clock.nowS() + refusedWaitS;
    const params = { url: shownBroker(broker.url), rig };
    const known: Record<number, string> = { [nobody]: 'outbox-nobody', [notAuthorized]: 'outbox-not-allowed' };
    this.#tell({ joined: true, problem: { code: known[code ?? 0] ?? 'outbox-refused', params } });
  }

  #have(payload: Uint8Array): void {
    const { outbox, clock, confirmed } = this.#options;
    const have = readHave(payload);
    if (!have || !outbox.confirm(have, clock.nowS())) return;
    this.#waitUntilS = 0;
    this.#tell({ joined: true, problem: null });
    confirmed();
    this.#pump();
  }

  #away(detail: string | null): void {
    const url = shownBroker(this.#options.broker.url);
    if (detail === null && this.#state.problem !== null) return this.#tell({ ...this.#state, joined: false });
    this.#tell({ joined: false, problem: { code: 'outbox-away', params: { url, detail: detail ?? 'it is gone' } } });
  }

  #tell(state: LinkState): void {
    const was = this.#state;
    this.#state = state;
    if (was.joined !== state.joined || was.problem?.code !== state.problem?.code) this.#options.told(state);
  }
}

function readHave(payload: Uint8Array): Have | null {
  try {
    return haveSchema.safeParse(JSON.parse(new TextDecoder().decode(payload))).data ?? null;
  } catch {
    return null;
  }
}

function codeOf(from: Error | Packet | IPublishPacket | undefined): number | null {
  if (from === undefined) return null;
  if ('code' in from && typeof from.code === 'number') return from.code;
  return 'reasonCode' in from && typeof from.reasonCode === 'number' ? from.reasonCode : null;
}
