import type { IClientOptions, IPublishPacket, MqttClient } from 'mqtt';
import type { Refusals } from '../wire/refusals.ts';
import { kitTopic, readTopic, topicName } from '../wire/topics.ts';
import type { Hearing } from './hearing.ts';
import { KeptLink, type OpenPlug, type Plug, type PlugEvents, type PlugRefusal } from './kept-link.ts';
import { MqttEar } from './mqtt-ear.ts';
import { ConnectFailure, isWrongVersion, shownUrl, whyNotConnected } from './mqtt-faults.ts';
import { Takeover } from './takeover.ts';
import type { Transport, TransportClock, TransportProblem } from './transport.ts';

export interface MqttOptions {
  /** `mqtt://broker:1883`, also `mqtts:`, `ws:`, `wss:`. User and password in it work, and are never shown. */
  readonly url: string;
  readonly user?: string | undefined;
  readonly password?: string | undefined;
  /**
   * Stays the same for this installation, so that the broker keeps for it what came while it was away; two clients with
   * one id throw each other out. At most 23 letters and digits: more need not be taken (MQTT 3.1.1 section 3.1.3.1).
   */
  readonly clientId: string;
  readonly clock: TransportClock;
  /** URN of the one kit to listen to; every kit of the broker when left out. */
  readonly kit?: string | undefined;
  /** Topics of a kit that does not speak our wire; then nothing is sent to it. */
  readonly foreign?: ForeignTopics | undefined;
  /** 5, then 3.1.1 where that is refused, unless told. */
  readonly version?: 5 | 4 | undefined;
  /** The counters of the reader of these messages; lets noise be told from packs. */
  readonly hearing?: Hearing | undefined;
  /** What that reader refused; lets it be said why nothing is read. */
  readonly refusals?: Refusals | undefined;
}

export interface ForeignTopics {
  readonly readings: readonly string[];
  /** Where the kit tells whether it is there, if it does. */
  readonly state: string | null;
}

/** A session lives on at the broker for so long after the bridge went away (seconds): a night in the van is no loss. */
const sessionS = 24 * 3600;
/** A command that was not delivered by then is let go (seconds): a kit must not obey yesterday's order. */
const commandS = 10;
const connectTimeoutS = 5;
const keepaliveS = 10;
const closeWithinS = 1;

/** Kits on a broker, MQTT 5 or 3.1.1, QoS 1, in a session that outlives the connection. Comes back by itself, for ever. */
export function mqttTransport(options: MqttOptions): Transport {
  const shown = shownUrl(options.url);
  const filters = options.foreign?.readings ?? [kitTopic(options.kit ?? '+', 'senml')];
  const ear = new MqttEar(shown, filters.join(', '), options.hearing ?? null, options.refusals ?? null);
  return new KeptLink(`MQTT ${shown}`, new MqttPlug(options, shown, filters, ear), options.clock, ear);
}

class MqttPlug implements Plug {
  readonly #options: MqttOptions;
  readonly #shown: string;
  readonly #filters: readonly string[];
  readonly #stateFilter: string | null;
  readonly #ear: MqttEar;
  readonly #takeover = new Takeover();
  #version: 5 | 4;

  constructor(options: MqttOptions, shown: string, filters: readonly string[], ear: MqttEar) {
    this.#options = options;
    this.#shown = shown;
    this.#filters = filters;
    this.#stateFilter = options.foreign ? options.foreign.state : kitTopic(options.kit ?? '+', 'state');
    this.#ear = ear;
    this.#version = options.version ?? 5;
  }

  async open(on: PlugEvents): Promise<OpenPlug | PlugRefusal> {
    const waitS = this.#takeover.waitS(this.#options.clock.nowS());
    if (waitS > 0) return { problem: this.#takenOver(), absent: false };
    const heard = (topic: string, payload: Uint8Array, retained: boolean): void =>
      this.#heard(topic, payload, retained, on);
    let client: MqttClient;
    try {
      client = await this.#connect(heard);
    } catch (error) {
      this.#takeover.notThere();
      return whyNotConnected(error, this.#shown);
    }
    const line = new OpenLine(client, this.#options.clock, (why) => on.lost(this.#whyLost(why)));
    this.#takeover.letIn(this.#options.clock.nowS());
    const refused = await subscribe(client, [...this.#filters, ...(this.#stateFilter ? [this.#stateFilter] : [])]);
    if (refused === null) return { write: (bytes, kit) => this.#send(line, bytes, kit), close: () => line.close() };
    const why = line.lost;
    await line.close();
    if (why !== null) return { problem: this.#whyLost(why), absent: false };
    return { problem: { code: 'mqtt-not-allowed', params: { url: this.#shown, topic: refused } }, absent: false };
  }

  async #connect(heard: Heard): Promise<MqttClient> {
    try {
      return await connectOnce(this.#options, this.#version, heard);
    } catch (error) {
      if (this.#version !== 5 || this.#options.version === 5 || !isWrongVersion(error)) throw error;
      const client = await connectOnce(this.#options, 4, heard);
      this.#version = 4;
      return client;
    }
  }

  /** What was retained before this subscription is no news: only a kit's state may be that old. */
  #heard(topic: string, payload: Uint8Array, retained: boolean, on: PlugEvents): void {
    const { foreign, kit: wanted } = this.#options;
    const known = foreign ? null : readTopic(topic);
    if (foreign ? topic === foreign.state : known?.leaf === 'state') {
      if (payload.length > 0 && payload.length <= 32)
        this.#ear.state(
          known ? topicName(known.kit) : this.#filters.join(', '),
          Buffer.from(payload).toString('latin1'),
        );
      return;
    }
    if (retained || payload.length === 0) return;
    if (known) {
      if (known.leaf !== 'senml' || (wanted !== undefined && topicName(wanted) !== topicName(known.kit))) return;
      this.#ear.heardFrom(topicName(known.kit));
    } else {
      if (!this.#filters.includes(topic)) return;
      this.#ear.heardFrom(this.#filters.join(', '));
    }
    on.message(topic, payload);
  }

  async #send(line: OpenLine, bytes: Uint8Array, kit: string | undefined): Promise<boolean> {
    if (this.#options.foreign) return false;
    const pinned = this.#options.kit;
    const known = pinned === undefined ? this.#ear.kits : [topicName(pinned)];
    const kits = kit === undefined ? known : known.filter((name) => name === topicName(kit));
    const sent = await Promise.all(kits.map((name) => line.publish(kitTopic(name, 'do'), bytes)));
    return sent.length > 0 && sent.every(Boolean);
  }

  #whyLost(why: Lost): TransportProblem {
    if (this.#takeover.thrownOut(why === 'taken over', this.#options.clock.nowS())) return this.#takenOver();
    return { code: 'mqtt-gone', params: { url: this.#shown } };
  }

  #takenOver(): TransportProblem {
    return { code: 'mqtt-taken-over', params: { url: this.#shown, id: this.#options.clientId } };
  }
}

type Heard = (topic: string, payload: Uint8Array, retained: boolean) => void;
type Lost = 'taken over' | 'closed';

/** Session taken over (MQTT 5 section 3.14.2.1). */
const takenOver = 142;

/** One connection: what is sent on it, and how it ended. */
class OpenLine {
  readonly #client: MqttClient;
  readonly #clock: TransportClock;
  /** Resolves when the connection has ended, so that nothing waits for an answer that cannot come. */
  readonly #ended: Promise<false>;
  lost: Lost | null = null;
  #closing = false;

  constructor(client: MqttClient, clock: TransportClock, onLost: (why: Lost) => void) {
    this.#client = client;
    this.#clock = clock;
    let told: Lost = 'closed';
    client.on('disconnect', (packet) => {
      if (packet.reasonCode === takenOver) told = 'taken over';
    });
    this.#ended = new Promise((resolve) => {
      client.on('close', () => {
        resolve(false);
        if (this.#closing || this.lost !== null) return;
        this.lost = told;
        onLost(told);
      });
    });
  }

  async publish(topic: string, bytes: Uint8Array): Promise<boolean> {
    const v5 = this.#client.options.protocolVersion === 5;
    const published = new Promise<boolean>((resolve) => {
      this.#client.publish(
        topic,
        Buffer.from(bytes),
        { qos: 1, ...(v5 && { properties: { messageExpiryInterval: commandS } }) },
        (error) => resolve(!error),
      );
    });
    return await Promise.race([published, this.#ended]);
  }

  /** The broker is told, so that it keeps the session in order; one that no longer answers is not waited for. */
  async close(): Promise<void> {
    this.#closing = true;
    const client = this.#client;
    // What still comes is not heard any more, so it is not acknowledged either: the broker keeps it for the next time.
    client.handleMessage = () => undefined;
    const ended = new Promise<void>((resolve) => client.end(!client.connected, {}, () => resolve()));
    await new Promise<void>((resolve) => {
      const cancel = this.#clock.after(closeWithinS, () => {
        client.end(true);
        resolve();
      });
      void ended.then(() => {
        cancel();
        resolve();
      });
    });
  }
}

/** One attempt: connected, or rejects with the error that says why not. `heard` is called from the first message on. */
async function connectOnce(options: MqttOptions, version: 5 | 4, heard: Heard): Promise<MqttClient> {
  const { connect } = await import('mqtt');
  const url = new URL(options.url);
  const user = options.user ?? (decodeURIComponent(url.username) || undefined);
  const password = options.password ?? (decodeURIComponent(url.password) || undefined);
  url.username = '';
  url.password = '';
  const settings: IClientOptions = {
    protocolVersion: version,
    clientId: options.clientId,
    clean: false,
    reconnectPeriod: 0,
    connectTimeout: connectTimeoutS * 1000,
    keepalive: keepaliveS,
    resubscribe: false,
    ...(user !== undefined && { username: user }),
    ...(password !== undefined && { password }),
    ...(version === 5 && { properties: { sessionExpiryInterval: sessionS } }),
  };
  const client = connect(url.href, settings);
  client.on('message', (topic: string, payload: Uint8Array, packet: IPublishPacket) =>
    heard(topic, payload, packet.retain),
  );
  return await new Promise((resolve, reject) => {
    let failed = false;
    const fail = (error: unknown): void => {
      if (failed) return;
      failed = true;
      client.end(true);
      reject(asFailure(error));
    };
    const closed = (): void => fail(new ConnectFailure('closed'));
    client.on('error', fail);
    client.once('close', closed);
    client.once('connect', () => {
      // From here on an end of the connection is told by `close`; an error alone says nothing more.
      client.off('close', closed);
      client.off('error', fail);
      client.on('error', () => undefined);
      resolve(client);
    });
  });
}

/** What the library tells in words alone: no answer in time, or an answer that is no MQTT. */
function asFailure(error: unknown): unknown {
  if (typeof error === 'object' && error !== null && 'code' in error) return error;
  const isTimeout = error instanceof Error && /timeout/i.test(error.message);
  return new ConnectFailure(isTimeout ? 'timeout' : 'garbled');
}

/** The first topic that the broker does not let us read, or null. */
async function subscribe(client: MqttClient, filters: readonly string[]): Promise<string | null> {
  return await new Promise((resolve) => {
    const first = filters[0] ?? '';
    client.once('close', () => resolve(first));
    client.subscribe([...filters], { qos: 1 }, (error, granted) => {
      const refused = granted?.find((grant) => grant.qos > 2);
      resolve(refused?.topic ?? (error ? first : null));
    });
  });
}
