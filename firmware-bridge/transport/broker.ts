import { randomBytes } from 'node:crypto';
import { createServer, type Server, type Socket } from 'node:net';
import type { Aedes, AuthenticateError, Client } from 'aedes';
import { Problem } from '../../src/core/message/problem.ts';
import { readTopic } from '../wire/topics.ts';
import { Gate, Pace } from './broker-gate.ts';
import { isLogin, type Login, maxPacketBytes, mayHear, mayPublish, mayRead, PacketSizes } from './broker-rules.ts';
import type { ForeignTopics } from './mqtt.ts';
import type { TransportClock, TransportProblem } from './transport.ts';

export interface BrokerOptions {
  /** Address to listen on: `0.0.0.0` for all of this machine. */
  readonly host: string;
  readonly port: number;
  /** Asked of every kit; null lets every client of the network in. */
  readonly login: Login | null;
  /** Topics of a kit that does not speak our wire: open to any client. */
  readonly foreign?: ForeignTopics | null;
  readonly clock: TransportClock;
  /** Told why a client was turned away; the same thing of the same client once a minute. */
  readonly told: (problem: TransportProblem) => void;
  /** Clients at most, of this machine and of others apart; 32 unless told. */
  readonly mostClients?: number;
}

export interface Broker {
  readonly port: number;
  /** How the bridge itself joins: a login made anew at each start, that never leaves this process. */
  readonly bridge: Login & { readonly url: string; readonly clientId: string; readonly version: 4 };
  close(): Promise<void>;
}

const tellAgainS = 60;
const connectWithinS = 5;
const badLogin = 4;
/** A kit is heard at least so often (docs/mqtt.md asks for a keepalive of 10 s): silent for longer, it may be replaced. */
const aliveS = 15;
/** States that may stand, and their size: each client name can leave one behind. */
const mostStates = 64;
const maxStateBytes = 32;

/**
 * A broker in this process, MQTT 3.1.1: for a kit on the Wi-Fi where no other broker is. A client publishes only below
 * `limpid/<its client id>/` and reads only its own commands; commands come from the bridge alone. It keeps nothing for
 * clients that are away. Throws Problem: port in use, port not allowed.
 */
export async function startBroker(options: BrokerOptions): Promise<Broker> {
  const { Aedes } = await import('aedes');
  const secret = randomBytes(24).toString('base64url');
  const bridge = { user: 'bridge', password: secret, clientId: `bridge${randomBytes(8).toString('hex')}` };
  const aedes = await Aedes.createBroker({
    connectTimeout: connectWithinS * 1000,
    heartbeatInterval: 3600_000,
    maxTopicLevels: 16,
  });
  const doorkeeper = new Doorkeeper(options, bridge, aedes);
  const sockets = new Set<Socket>();
  const gate = new Gate(options.mostClients ?? 32, options.host, options.clock);
  const server = createServer((socket) => {
    const address = socket.remoteAddress ?? '?';
    const full = gate.enter(address);
    if (full) {
      doorkeeper.full(address, full.limit);
      socket.destroy();
      return;
    }
    sockets.add(socket);
    socket.once('close', () => {
      sockets.delete(socket);
      gate.left(address);
    });
    doorkeeper.receive(socket);
  });
  const port = await listen(server, options.port, options.host);
  const near = options.host === '0.0.0.0' || options.host === '::' ? '127.0.0.1' : options.host;
  return {
    port,
    bridge: { ...bridge, url: `mqtt://${near.includes(':') ? `[${near}]` : near}:${port}`, version: 4 },
    async close() {
      const closed = new Promise<void>((resolve) => server.close(() => resolve()));
      await new Promise<void>((resolve) => aedes.close(resolve));
      for (const socket of sockets) socket.destroy();
      await closed;
    },
  };
}

async function listen(server: Server, port: number, host: string): Promise<number> {
  return await new Promise((resolve, reject) => {
    server.once('error', (error) => {
      const code = 'code' in error ? error.code : '';
      if (code === 'EADDRINUSE') reject(new Problem('broker-port-taken', { port }));
      else if (code === 'EACCES') reject(new Problem('broker-port-denied', { port, what: error.message }));
      else reject(error);
    });
    server.listen(port, host, () => {
      const address = server.address();
      resolve(typeof address === 'object' && address !== null ? address.port : port);
    });
  });
}

/** Who may do what, set into the broker's hooks; says each refusal once in a while. */
class Doorkeeper {
  readonly #options: BrokerOptions;
  readonly #bridge: Login & { readonly clientId: string };
  readonly #aedes: Aedes;
  readonly #trusted = new WeakSet<Client>();
  /** Clients whose trouble was told already: what the library says after it is an echo. */
  readonly #explained = new WeakSet<Client>();
  readonly #toldAtS = new Map<string, number>();
  readonly #paces = new WeakMap<Client, Pace>();
  readonly #heardAtS = new WeakMap<Client, number>();
  readonly #filters = new WeakMap<Client, Set<string>>();
  readonly #states = new Set<string>();
  readonly #joined = new Map<string, Client>();

  constructor(options: BrokerOptions, bridge: Login & { readonly clientId: string }, aedes: Aedes) {
    this.#options = options;
    this.#bridge = bridge;
    this.#aedes = aedes;
    this.#greet();
    this.#guard();
    const broken = (client: Client, error: Error): void => {
      if (!this.#explained.has(client) && !isHangUp(error))
        this.#refuse(client, 'broker-broken', { what: error.message });
    };
    aedes.on('client', (client) => this.#joined.set(client.id, client));
    aedes.on('clientDisconnect', (client) => {
      if (this.#joined.get(client.id) === client) this.#joined.delete(client.id);
    });
    aedes.on('clientError', broken);
    aedes.on('connectionError', broken);
  }

  receive(socket: Socket): void {
    socket.setKeepAlive(true, 30_000);
    const sizes = new PacketSizes();
    const client = this.#aedes.handle(socket);
    const pace = new Pace(this.#options.clock);
    this.#paces.set(client, pace);
    // The broker reads the socket itself; this only looks on, before the bytes reach its parser.
    socket.on('data', (chunk: Uint8Array) => {
      this.#heardAtS.set(client, this.#options.clock.nowS());
      const tooBig = sizes.tooBig(chunk);
      if (!tooBig && pace.packets(sizes.begun())) return;
      if (tooBig) this.#refuse(client, 'broker-too-big', { limit: maxPacketBytes });
      else this.#refuse(client, 'broker-too-fast', {});
      socket.destroy();
    });
    socket.once('close', () => pace.end());
  }

  full(client: string, limit: number): void {
    this.#tell({ code: 'broker-full', params: { client, limit } });
  }

  #greet(): void {
    this.#aedes.preConnect = (client, packet, done) => {
      const version = packet.protocolVersion ?? 4;
      if (version > 4) this.#refuse(client, 'broker-version', { version }, packet.clientId);
      if (this.#isTaken(client, packet.clientId)) {
        this.#refuse(client, 'broker-taken', { address: addressOf(client) }, packet.clientId);
        done(new Error('taken'), false);
        return;
      }
      // What a kit missed while it was away is not kept: an order of an hour ago must not be obeyed.
      if (packet.clientId !== this.#bridge.clientId) packet.clean = true;
      done(null, true);
    };
    this.#aedes.authenticate = (client, user, password, done) => {
      if (isLogin(this.#bridge, user, password)) this.#trusted.add(client);
      const { login } = this.#options;
      const isKit = client.id !== this.#bridge.clientId && (login === null || isLogin(login, user, password));
      if (this.#trusted.has(client) || isKit) {
        done(null, true);
        return;
      }
      this.#refuse(client, 'broker-login', {});
      const error: AuthenticateError = Object.assign(new Error('login'), { returnCode: badLogin });
      done(error, false);
    };
  }

  #guard(): void {
    const foreign = this.#options.foreign ?? null;
    this.#aedes.authorizePublish = (client, packet, done) => {
      const isTrusted = client === null || this.#trusted.has(client);
      const problem = isTrusted ? null : mayPublish(client.id, packet.topic, packet.payload.length, foreign);
      // A retained pack would be taken for news at each start; only a state may stand.
      packet.retain &&= !problem && this.#mayStand(packet.topic, packet.payload.length, foreign);
      if (client && problem) this.#refuse(client, problem.code, problem.params);
      if (problem) done(new Error(problem.code));
      // A last will comes after the end of its client.
      else if (isTrusted || client.closed) done(null);
      else this.#paceOf(client).publish(() => done(null));
    };
    this.#aedes.authorizeForward = (client, packet) =>
      this.#trusted.has(client) || mayHear(client.id, packet.topic) ? packet : null;
    this.#aedes.authorizeSubscribe = (client, subscription, done) => {
      const { topic } = subscription;
      const has = this.#filters.get(client) ?? new Set();
      const problem = this.#trusted.has(client)
        ? null
        : mayRead(client.id, topic, has.has(topic) ? 0 : has.size, foreign);
      if (problem) this.#tell(problem);
      else this.#filters.set(client, has.add(topic));
      done(null, problem ? null : subscription);
    };
  }

  /** Without a login a name is all there is: nobody takes that of a kit that is being heard from elsewhere. */
  #isTaken(client: Client, id: string): boolean {
    const holder = this.#joined.get(id);
    if (this.#options.login !== null || !holder || addressOf(holder) === addressOf(client)) return false;
    const heardAtS = this.#heardAtS.get(holder) ?? Number.NEGATIVE_INFINITY;
    return this.#options.clock.nowS() - heardAtS < aliveS;
  }

  #mayStand(topic: string, bytes: number, foreign: ForeignTopics | null): boolean {
    if (bytes > maxStateBytes || (readTopic(topic)?.leaf !== 'state' && topic !== foreign?.state)) return false;
    if (bytes > 0 && this.#states.size >= mostStates && !this.#states.has(topic)) return false;
    if (bytes > 0) this.#states.add(topic);
    else this.#states.delete(topic);
    return true;
  }

  #paceOf(client: Client): Pace {
    const pace = this.#paces.get(client) ?? new Pace(this.#options.clock);
    this.#paces.set(client, pace);
    return pace;
  }

  #refuse(client: Client, code: string, params: TransportProblem['params'], id?: string): void {
    this.#explained.add(client);
    this.#tell({ code, params: { client: id ?? client.id ?? 'unknown', ...params } });
  }

  #tell(problem: TransportProblem): void {
    const key = `${problem.code} ${problem.params['client']}`;
    const nowS = this.#options.clock.nowS();
    if (nowS - (this.#toldAtS.get(key) ?? Number.NEGATIVE_INFINITY) < tellAgainS) return;
    if (this.#toldAtS.size > 256) this.#toldAtS.clear();
    this.#toldAtS.set(key, nowS);
    this.#options.told(problem);
  }
}

function addressOf(client: Client): string {
  return 'remoteAddress' in client.conn ? String(client.conn.remoteAddress) : '';
}

/** A kit that drops off the Wi-Fi is no trouble of the broker. */
function isHangUp(error: Error): boolean {
  return 'code' in error && typeof error.code === 'string' && /^(ECONNRESET|EPIPE|ETIMEDOUT)$/.test(error.code);
}
