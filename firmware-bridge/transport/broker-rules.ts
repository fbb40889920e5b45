import { createHash, timingSafeEqual } from 'node:crypto';
import { maxPackBytes } from '../wire/frame.ts';
import { kitTopic, readTopic } from '../wire/topics.ts';
import type { ForeignTopics } from './mqtt.ts';
import type { TransportProblem } from './transport.ts';

export interface Login {
  readonly user: string;
  readonly password: string;
}

/** A pack with its check sum and line end. */
export const maxPayloadBytes = maxPackBytes + 8;
/** A packet with the longest topic around it. */
export const maxPacketBytes = maxPayloadBytes + 256;

/** Equal in a time that does not tell how much of it was right. */
export function isLogin(wanted: Login, user: string | undefined, password: Uint8Array | undefined): boolean {
  const digest = (name: string, secret: Uint8Array): Buffer =>
    createHash('sha256').update(JSON.stringify(name)).update(secret).digest();
  return timingSafeEqual(
    digest(wanted.user, Buffer.from(wanted.password)),
    digest(user ?? '', password ?? new Uint8Array()),
  );
}

/** Why a client that is not the bridge may not publish this, or null. Its kit is the one that its client id names. */
export function mayPublish(
  client: string,
  topic: string,
  bytes: number,
  foreign: ForeignTopics | null,
): TransportProblem | null {
  if (bytes > maxPayloadBytes) return { code: 'broker-too-big', params: { client, limit: maxPayloadBytes } };
  if (!isKit(client)) return noKit(client);
  if (foreign && (foreign.readings.includes(topic) || foreign.state === topic)) return null;
  if (topic === kitTopic(client, 'senml') || topic === kitTopic(client, 'state')) return null;
  const own = kitTopic(client, 'senml');
  const allowed = foreign ? `${own} or ${foreign.readings.join(', ')}` : own;
  return { code: 'broker-topic', params: { client, topic: topic.slice(0, 120), allowed } };
}

/** A name with `+` or `/` in it would stand for topics of others. */
const isKit = (client: string): boolean => readTopic(kitTopic(client, 'do')) !== null;
const noKit = (client: string): TransportProblem => ({
  code: 'broker-name',
  params: { client: client.slice(0, 120) },
});

/** Topics that one client may have asked to read. */
const mostFilters = 16;

/** Why a client that is not the bridge may not read this too, or null. */
export function mayRead(
  client: string,
  filter: string,
  has: number,
  foreign: ForeignTopics | null,
): TransportProblem | null {
  if (!isKit(client)) return noKit(client);
  const allowed = kitTopic(client, 'do');
  // A kit of another make may ask for commands of its own kind; none will come.
  const isOwn = filter === allowed || (foreign && !/^(limpid\/|[+#$])/.test(filter));
  if (isOwn && has < mostFilters) return null;
  return { code: 'broker-read', params: { client, topic: filter.slice(0, 120), allowed } };
}

/** Whether this may be handed on to a client that is not the bridge, whatever it asked to read. */
export const mayHear = (client: string, topic: string): boolean => isKit(client) && topic === kitTopic(client, 'do');

/**
 * Watches the sizes that packets claim in their fixed header (MQTT 3.1.1 section 2.2.3), so that a client cannot make the
 * broker hold what it never finishes to send.
 */
export class PacketSizes {
  #left = 0;
  #inHeader = false;
  #size = 0;
  #shift = 0;
  #begun = 0;

  /** Packets begun since it was last asked. */
  begun(): number {
    const count = this.#begun;
    this.#begun = 0;
    return count;
  }

  /** True when a packet is, or claims to be, over the limit. */
  tooBig(chunk: Uint8Array): boolean {
    for (let at = 0; at < chunk.length; ) {
      if (this.#left > 0) {
        const step = Math.min(this.#left, chunk.length - at);
        this.#left -= step;
        at += step;
      } else if (this.#inHeader) {
        const byte = chunk[at++] ?? 0;
        this.#size += (byte & 0x7f) * 2 ** this.#shift;
        this.#shift += 7;
        if (this.#size > maxPacketBytes || this.#shift > 28) return true;
        if (byte < 0x80) {
          this.#inHeader = false;
          this.#left = this.#size;
        }
      } else {
        at++;
        this.#begun++;
        this.#inHeader = true;
        this.#size = 0;
        this.#shift = 0;
      }
    }
    return false;
  }
}
