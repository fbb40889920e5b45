import type { MqttClient } from 'mqtt';
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
/** The broker said no: not asked again before this (seconds); sooner where it only had nobody to give it to. */
const refusedWaitS = 60;
const nobodyWaitS = 5;
/** Nobody subscribed (MQTT 5 section 3.4.2.1): the broker would drop it. */
const nobody = 16;
const notAuthorized = 135;
const tooLarge = 149;
const refusals: Readonly<Record<number, string>> = {
  [nobody]: 'outbox-nobody',
  [notAuthorized]: 'outbox-not-allowed',
  [tooLarge]: 'outbox-too-large',
};
/** What MQTT puts around a payload of ours, and more (section 3.3). */
const headerBytes = 256;

/** Sends a rig's outbox to the firm's broker, at QoS 1, for ever; the firm's `have` moves it on. */
export class Publisher {
  readonly #options: PublisherOptions;
  #client: MqttClient | null = null;
  #stopLook: () => void = () => undefined;
  #messages = 0;
  #bytes = 0;
  /** Bytes of a message that the broker takes, as it said when it let us in. */
  #largest = Number.POSITIVE_INFINITY;
  #waitUntilS = 0;
  /** What the broker refused is still to be sent again. */
  #isRefused = false;
  /** What was sent did not arrive although the broker took it: its queue may be bounded, so it is not filled again. */
  #isLossy = false;
  /** Messages under way at most: one, as long as the broker has not taken one since it refused. */
  #window = mostMessages;
  #state: LinkState = { joined: false, problem: null };

  constructor(options: PublisherOptions) {
    this.#options = options;
  }

  async start(): Promise<void> {
    const { broker, rig, clock } = this.#options;
    // A session is kept so that a broker that lost it, and with it perhaps what it had not passed on, is known by that.
    const client = await joinBroker(broker, true);
    this.#client = client;
    client.on('connect', ({ sessionPresent, properties }) => {
      this.#largest = properties?.maximumPacketSize ?? Number.POSITIVE_INFINITY;
      // What it refused before, it may take now.
      this.#waitUntilS = 0;
      if (!sessionPresent) this.#options.outbox.rewind(clock.nowS());
      client.subscribe(haveTopic(rig), { qos: 1 }, () => undefined);
      this.#tell({ joined: true, problem: null });
      this.#pump();
    });
    // Where a message is given back, the library tells its own packet and not the broker's answer.
    client.on('packetreceive', (packet) => {
      if (packet.cmd === 'puback' && packet.reasonCode === nobody) this.#refused(nobody);
    });
    client.on('message', (_topic: string, payload: Uint8Array) => this.#have(payload));
    client.on('error', (error: Error) => this.#away(error.message));
    client.on('close', () => this.#away(null));
    this.#stopLook = clock.every(lookS, () => {
      const { outbox } = this.#options;
      if (this.#isRefused && clock.nowS() >= this.#waitUntilS) {
        this.#isRefused = false;
        outbox.rewind(clock.nowS());
      }
      if (outbox.rewindStalled(clock.nowS())) this.#isLossy = true;
      if (this.#isLossy) this.#one();
      else this.#pump();
    });
  }

  async stop(): Promise<void> {
    this.#stopLook();
    const client = this.#client;
    this.#client = null;
    if (client) await new Promise<void>((resolve) => client.end(true, {}, () => resolve()));
  }

  /** One message a look, until the firm has all of it. */
  #one(): void {
    const { outbox, clock } = this.#options;
    if (!this.#client?.connected || clock.nowS() < this.#waitUntilS || this.#messages > 0) return;
    const out = outbox.next(clock.nowS(), this.#largest);
    if (out) this.#send(this.#client, out);
    else if (!outbox.isAhead) this.#isLossy = false;
  }

  #pump(): void {
    const { outbox, clock } = this.#options;
    if (this.#isLossy) return;
    while (this.#client?.connected && clock.nowS() >= this.#waitUntilS) {
      if (this.#messages >= this.#window || this.#bytes >= mostBytes) return;
      const out = outbox.next(clock.nowS(), this.#largest);
      if (!out) return;
      this.#send(this.#client, out);
    }
  }

  #send(client: MqttClient, out: Outgoing): void {
    const bytes = out.payload.length;
    // The broker would end the connection over it, again and again.
    if (bytes + headerBytes > this.#largest) return this.#refused(tooLarge, { bytes, largest: this.#largest });
    this.#messages += 1;
    this.#bytes += bytes;
    client.publish(upTopic(this.#options.rig, out.leaf), out.payload, { qos: 1 }, (error) => {
      this.#messages -= 1;
      this.#bytes -= bytes;
      // What the broker did not take is sent again: the outbox goes back to where the firm is.
      if (error) this.#refused(codeOf(error));
      else {
        if (!this.#isRefused) this.#window = mostMessages;
        this.#pump();
      }
    });
  }

  #refused(code: number | null, more: Message['params'] = {}): void {
    const { broker, rig, clock } = this.#options;
    this.#waitUntilS = clock.nowS() + (code === nobody ? nobodyWaitS : refusedWaitS);
    this.#isRefused = true;
    this.#window = 1;
    const params = { url: shownBroker(broker.url), rig, ...more };
    this.#tell({ joined: true, problem: { code: refusals[code ?? 0] ?? 'outbox-refused', params } });
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
    const reason = ({ problem }: LinkState): string => `${problem?.code} ${problem?.params['detail']}`;
    if (was.joined !== state.joined || reason(was) !== reason(state)) this.#options.told(state);
  }
}

function readHave(payload: Uint8Array): Have | null {
  try {
    return haveSchema.safeParse(JSON.parse(new TextDecoder().decode(payload))).data ?? null;
  } catch {
    return null;
  }
}

function codeOf(from: Error): number | null {
  return 'code' in from && typeof from.code === 'number' ? from.code : null;
}
