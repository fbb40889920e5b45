import type { IClientOptions, MqttClient } from 'mqtt';

/** A broker of the firm's, MQTT 5: the sessions, the shared subscription and the answers that tell why need it. */
export interface BrokerAt {
  /** `mqtts://broker.example`, also `mqtt:`, `ws:`, `wss:`. */
  readonly url: string;
  readonly user: string | null;
  readonly password: string | null;
  /** PEM text of the authority that signed the broker's certificate, where it is the firm's own. */
  readonly ca?: string | null;
  /** Stays the same for this installation. */
  readonly clientId: string;
}

const sessionS = 7 * 24 * 3600;

/**
 * A connection that comes back by itself for ever. `keep`: the broker keeps for it what comes while it is away.
 * The client's `error` events never carry more than a sentence further than this: they can hold the login.
 */
export async function joinBroker(at: BrokerAt, keep: boolean, more: IClientOptions = {}): Promise<MqttClient> {
  const { connect } = await import('mqtt');
  return connect(at.url, {
    protocolVersion: 5,
    clientId: at.clientId,
    clean: !keep,
    reconnectPeriod: 2000,
    connectTimeout: 10_000,
    keepalive: 20,
    ...(at.user !== null && { username: at.user }),
    ...(at.password !== null && { password: at.password }),
    ...(at.ca ? { ca: at.ca } : {}),
    ...(keep && { properties: { sessionExpiryInterval: sessionS } }),
    ...more,
  });
}

/** The broker as it may be shown: no user, no password. */
export function shownBroker(url: string): string {
  try {
    const { protocol, host } = new URL(url);
    return `${protocol}//${host}`;
  } catch {
    return 'the broker';
  }
}
