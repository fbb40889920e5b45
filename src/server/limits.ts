import type { Server, Socket } from 'node:net';
import type { FastifyRequest } from 'fastify';
import { Buckets, type Rate } from '../core/rate.ts';
import { isLoopback } from './auth.ts';
import { Refused } from './refuse.ts';

/**
 * How much is served to whom. Each address has its own measure, so that a flood from one costs no other anything. What
 * addresses ask that nobody here knows is also bounded in all, because a network has addresses to spare; a device that
 * is paired or signed in is not counted there, so that no flood, from however many, locks it out.
 */
export type Work =
  /** Files of the pages, and what is not there. */
  | 'page'
  /** What is read from memory or by one query. */
  | 'look'
  /** A live stream begun. */
  | 'live'
  /** Taps and all that is kept. */
  | 'write'
  /** What takes the processor or the disk for a while: reports, exports, analyses, archives. */
  | 'dear'
  /** Where a code or a password is tried; wrong ones are counted apart, too. */
  | 'secret';

declare module 'fastify' {
  interface FastifyContextConfig {
    /** `page` where a route names none. */
    work?: Work;
  }
}

/** The options of a route that asks for this kind of work. */
export const of = (work: Work) => ({ config: { work } });

interface Measure {
  /** Of one address. Ten tablets behind one address, all opened at once, stay well below it. */
  readonly each: Rate;
  /** Of all addresses together that are not known here. */
  readonly strangers: Rate;
}

export const measures: Readonly<Record<Work, Measure>> = {
  page: { each: { burst: 600, perS: 60 }, strangers: { burst: 3000, perS: 300 } },
  look: { each: { burst: 300, perS: 30 }, strangers: { burst: 1500, perS: 150 } },
  live: { each: { burst: 120, perS: 4 }, strangers: { burst: 480, perS: 16 } },
  // A tablet that was away for hours sends its taps one after the other; what is over the rate waits in the tablet.
  write: { each: { burst: 300, perS: 10 }, strangers: { burst: 300, perS: 20 } },
  dear: { each: { burst: 60, perS: 1 }, strangers: { burst: 90, perS: 1.5 } },
  secret: { each: { burst: 30, perS: 0.5 }, strangers: { burst: 90, perS: 1.5 } },
};
/** The machine of the bridge itself: its own browser and programs, all of them from one address. */
const ownFactor = 10;
/** Connections at once: of one address, and of all that are not known. */
export const mostSockets = { each: 128, strangers: 512 };
const knownForS = 12 * 3600;
const mostKnown = 256;

/** Who asks, for counting: an IPv4 address, or the half of an IPv6 address that a network gives to one household. */
export function clientOf(address: string): string {
  const plain = address.startsWith('::ffff:') ? address.slice(7) : address;
  if (!plain.includes(':')) return plain;
  const [head = '', tail] = plain.split('%')[0]?.split('::') ?? [];
  const before = head === '' ? [] : head.split(':');
  const after = tail === undefined || tail === '' ? [] : tail.split(':');
  const gap = tail === undefined ? 0 : Math.max(0, 8 - before.length - after.length);
  const groups = [...before, ...Array.from({ length: gap }, () => '0'), ...after];
  return groups
    .slice(0, 4)
    .map((group) => group.replace(/^0+(?=.)/, '').toLowerCase())
    .join(':');
}

export interface Limits {
  /** Counts a request. Throws `Refused` 429, with the seconds to wait. */
  count(request: FastifyRequest): void;
  /** The address is this machine, or a paired or signed-in device spoke from it in the last hours. */
  isKnown(request: FastifyRequest): boolean;
  /** Turns connections away that are too many. */
  readonly watch: (server: Server) => void;
}

/** @param isDevice Whether the request brings a pairing or a sign-in that holds. */
export function createLimits(
  isDevice: (request: FastifyRequest) => boolean,
  nowS = () => performance.now() / 1000,
): Limits {
  const kinds = Object.entries(measures).map(([work, { each, strangers }]) => {
    const own = { burst: each.burst * ownFactor, perS: each.perS * ownFactor };
    return [work, { each: new Buckets(each), own: new Buckets(own), strangers: new Buckets(strangers) }] as const;
  });
  const buckets = new Map<string, (typeof kinds)[number][1]>(kinds);
  const known = new Map<string, number>();

  const remembers = (client: string): boolean => (known.get(client) ?? Number.NEGATIVE_INFINITY) > nowS() - knownForS;
  function isKnown(request: FastifyRequest): boolean {
    if (isLoopback(request.ip)) return true;
    const client = clientOf(request.ip);
    const brings = request.headers.authorization !== undefined || request.headers.cookie !== undefined;
    if (!brings || !isDevice(request)) return remembers(client);
    known.delete(client);
    known.set(client, nowS());
    for (const oldest of known.keys()) {
      if (known.size <= mostKnown) break;
      known.delete(oldest);
    }
    return true;
  }

  return {
    isKnown,
    count(request) {
      const kind = buckets.get(request.routeOptions.config.work ?? 'page');
      if (!kind) return;
      const now = nowS();
      const here = isLoopback(request.ip);
      const path = request.url.split('?')[0]?.slice(0, 80) ?? '';
      const refuse = (code: string, waitS: number): never => {
        throw new Refused(429, code, { path, waitS: Math.ceil(waitS) }, waitS);
      };
      const ownWaitS = (here ? kind.own : kind.each).take(clientOf(request.ip), now);
      if (ownWaitS > 0) refuse('too-much-asked', ownWaitS);
      if (isKnown(request)) return;
      const allWaitS = kind.strangers.take('', now);
      if (allWaitS > 0) refuse('too-much-asked-by-all', allWaitS);
    },
    watch: (server) => watchSockets(server, remembers),
  };
}

/** A connection too many is cut at once: to say why would cost more than it. */
function watchSockets(server: Server, remembers: (client: string) => boolean): void {
  const open = new Map<string, number>();
  let strangers = 0;
  server.on('connection', (socket: Socket) => {
    const address = socket.remoteAddress ?? '';
    if (isLoopback(address)) return;
    const client = clientOf(address);
    const count = (open.get(client) ?? 0) + 1;
    const isStranger = !remembers(client);
    if (count > mostSockets.each || (isStranger && strangers >= mostSockets.strangers)) {
      socket.destroy();
      return;
    }
    open.set(client, count);
    if (isStranger) strangers += 1;
    socket.once('close', () => {
      if (isStranger) strangers -= 1;
      const left = (open.get(client) ?? 1) - 1;
      if (left > 0) open.set(client, left);
      else open.delete(client);
    });
  });
}
