import { causeOf } from '../core/message/cause.ts';
import type { MqttClient } from 'mqtt';
import type { Message } from '../core/message/message.ts';
import { type BrokerAt, joinBroker, shownBroker } from './broker-line.ts';
import { decodePart, type Have, haveTopic, type Part, readUpTopic } from './part.ts';

/** Where parts wait until they can be put in their places; on the disk when `put` returns. */
export interface Inbox {
  /** `known`: it is there already, or was taken in before. `other-rig`: the run belongs to another rig. */
  put(rig: string, part: Part): 'new' | 'known' | 'other-rig';
  quarantine(rig: string, topic: string, why: Message, payload: Uint8Array): void;
}

export interface CollectorOptions {
  readonly broker: BrokerAt;
  readonly inbox: Inbox;
  readonly hash: (bytes: Uint8Array) => string;
  /** A part is on the disk. */
  readonly took: (rig: string, part: Part) => void;
  readonly told: (problem: Message | null) => void;
  readonly clock: { after(delayS: number, fn: () => void): () => void };
}

export interface CollectorCounters {
  readonly messages: number;
  readonly kept: number;
  readonly known: number;
  readonly quarantined: number;
}

/** Hubs share what the rigs send: any number of processes, each message to one of them. */
export const sharedFilter = '$share/hub/limpid/+/up/#';
const tryAgainS = 2;

/**
 * Takes what the broker hands it, one message after the other, and acknowledges each only when it is on the disk: what a
 * crash catches half way comes again. A disk that takes nothing holds the broker up, which keeps the rest.
 */
export class Collector {
  readonly #options: CollectorOptions;
  #client: MqttClient | null = null;
  #counters = { messages: 0, kept: 0, known: 0, quarantined: 0 };
  #stopped = false;

  constructor(options: CollectorOptions) {
    this.#options = options;
  }

  get counters(): CollectorCounters {
    return this.#counters;
  }

  get isJoined(): boolean {
    return this.#client?.connected ?? false;
  }

  async start(): Promise<void> {
    const { broker, told } = this.#options;
    const url = shownBroker(broker.url);
    const client = await joinBroker(broker, true, { resubscribe: false });
    this.#client = client;
    client.handleMessage = (packet, done) =>
      this.#take(packet.topic, asBytes(packet.payload), done ?? (() => undefined));
    let wasJoined = false;
    client.on('connect', () => {
      wasJoined = true;
      client.subscribe(sharedFilter, { qos: 1 }, (error, granted) => {
        const code = granted?.[0]?.qos ?? 0;
        if (error || code >= 128) told({ code: 'hub-not-allowed', params: { url, filter: sharedFilter } });
        else told(null);
      });
    });
    client.on('error', (error: Error) => told({ code: 'hub-away', params: { url, detail: error.message } }));
    client.on('close', () => {
      // After an attempt that failed the reason stands already.
      if (!this.#stopped && wasJoined) told({ code: 'hub-away', params: { url, detail: 'it is gone' } });
      wasJoined = false;
    });
  }

  /** A rig is told what the hub has of its run; retained, so that one that comes back learns it at once. */
  tellHave(rig: string, have: Have): void {
    this.#client?.publish(haveTopic(rig), JSON.stringify(have), { qos: 1, retain: true }, () => undefined);
  }

  async stop(): Promise<void> {
    this.#stopped = true;
    const client = this.#client;
    this.#client = null;
    if (!client) return;
    // What comes now is not acknowledged: the broker keeps it.
    client.handleMessage = () => undefined;
    await new Promise<void>((resolve) => client.end(false, {}, () => resolve()));
  }

  #take(topic: string, payload: Uint8Array, done: () => void): void {
    if (this.#stopped) return;
    try {
      this.#keep(topic, payload);
      this.#counters.messages += 1;
      done();
    } catch (error) {
      const detail = causeOf(error);
      this.#options.told({ code: 'hub-not-kept', params: { detail } });
      this.#options.clock.after(tryAgainS, () => this.#take(topic, payload, done));
    }
  }

  #keep(topic: string, payload: Uint8Array): void {
    const { inbox, took, hash } = this.#options;
    const from = readUpTopic(topic);
    if (!from) return;
    const refuse = (why: Message): void => {
      inbox.quarantine(from.rig, topic, why, payload);
      this.#counters.quarantined += 1;
    };
    const part = decodePart(from.leaf, payload);
    if ('code' in part) return refuse(part);
    if (part.kind === 'samples' && hash(part.body) !== part.sha256)
      return refuse({ code: 'hub-chunk-differs', params: { runId: part.runId, chunk: part.chunk } });
    const answer = inbox.put(from.rig, part);
    if (answer === 'other-rig') return refuse({ code: 'hub-other-rig', params: { runId: part.runId, rig: from.rig } });
    if (answer === 'known') this.#counters.known += 1;
    else {
      this.#counters.kept += 1;
      took(from.rig, part);
    }
  }
}

function asBytes(payload: string | Uint8Array): Uint8Array {
  return typeof payload === 'string' ? Buffer.from(payload) : payload;
}
