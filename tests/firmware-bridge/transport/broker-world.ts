import { connect as connectSocket } from 'node:net';
import { type IClientOptions, MqttClient } from 'mqtt';
import { type Broker, type BrokerOptions, startBroker } from '../../../firmware-bridge/transport/broker.ts';
import { mqttTransport } from '../../../firmware-bridge/transport/mqtt.ts';
import type { TransportProblem } from '../../../firmware-bridge/transport/transport.ts';
import { realClock } from '../../contracts/transport-clocks.ts';

export interface Inside {
  readonly broker: Broker;
  readonly told: TransportProblem[];
  /** A client that begins to join, from an address of this machine (127.0.0.2: a stranger to it). */
  join(clientId: string, options?: IClientOptions, address?: string): MqttClient;
  /** The bridge at its own broker: every message that it hears, as `topic payload`. */
  bridge(): Promise<string[]>;
  end(): Promise<void>;
}

export async function inside(more: Partial<BrokerOptions> = {}): Promise<Inside> {
  const told: TransportProblem[] = [];
  const broker = await startBroker({
    host: '0.0.0.0',
    port: 0,
    login: null,
    clock: realClock,
    told: (problem) => told.push(problem),
    ...more,
  });
  const clients: MqttClient[] = [];
  const bridges: { close(): Promise<void> }[] = [];
  return {
    broker,
    told,
    join(clientId, options = {}, address = '127.0.0.1') {
      const client = new MqttClient(
        () => connectSocket({ port: broker.port, host: '127.0.0.1', localAddress: address }),
        { protocolVersion: 4, clientId, reconnectPeriod: 0, ...options },
      );
      client.on('error', () => undefined);
      clients.push(client);
      return client;
    },
    async bridge() {
      const heard: string[] = [];
      const transport = mqttTransport({ ...broker.bridge, clock: realClock });
      bridges.push(transport);
      await transport.open({
        bytes: () => undefined,
        message: (topic, payload) => heard.push(`${topic} ${Buffer.from(payload).toString()}`),
        state: () => undefined,
      });
      return heard;
    },
    async end() {
      for (const transport of bridges) await transport.close();
      for (const client of clients) client.end(true);
      await broker.close();
    },
  };
}

/** 'in', or how it was turned away. */
export const connected = (client: MqttClient): Promise<string> =>
  new Promise((resolve) => {
    client.once('connect', () => resolve('in'));
    client.once('error', (error) => resolve(error.message));
    client.once('close', () => resolve('closed'));
  });

/** Filters that the broker grants. */
export async function granted(client: MqttClient, filters: readonly string[]): Promise<string[]> {
  return await new Promise((resolve) => {
    client.subscribe([...filters], { qos: 1 }, (_error, _grants, packet) => {
      const codes: readonly unknown[] = packet && 'granted' in packet ? (packet.granted as readonly unknown[]) : [];
      resolve(filters.filter((_filter, i) => codes[i] !== 128 && codes[i] !== undefined));
    });
  });
}
