import { createHash, randomBytes } from 'node:crypto';
import type { FastifyRequest } from 'fastify';
import { type RoleName, roleNames } from '../core/audit/page-schema.ts';
import { comparable } from '../core/audit/person-name.ts';
import { type Auth, isLoopback } from './auth.ts';
import { bearerOf, cookieOf, setCookie, setDevice } from './cookie.ts';
import { hashPassword, isPassword } from './password.ts';
import { Refused } from './refuse.ts';

/**
 * Who may see and do what on the office's page. With no set-up: the machine of the bridge itself may do all, a paired
 * device may read, comment and sign off. As soon as one person has an account, people sign in, and a paired device only
 * reads. A link shows one run, read only, until it ends.
 */
export interface Who {
  readonly name: string;
  readonly role: RoleName;
  readonly by: 'loopback' | 'paired' | 'person' | 'link';
  readonly onlyRun: string | null;
}

interface Person {
  readonly name: string;
  readonly role: RoleName;
  readonly password: string;
  readonly madeAt: string;
}
interface Session {
  readonly hash: string;
  readonly name: string;
  readonly role: RoleName;
  readonly until: string;
}
interface Share {
  readonly hash: string;
  readonly runId: string;
  readonly madeBy: string;
  readonly madeAt: string;
  readonly until: string;
}

/** Where accounts are kept; given by src/run. */
export interface PeopleKeeper {
  people(): Person[];
  person(name: string): Person | null;
  putPerson(person: Person): void;
  removePerson(name: string): boolean;
  session(hash: string): Session | null;
  putSession(session: Session): void;
  removeSession(hash: string): void;
  share(hash: string): Share | null;
  shares(runId: string): Share[];
  putShare(share: Share): void;
  removeShare(hash: string): void;
  forgetEnded(now: string): void;
}

export interface Access {
  who(request: FastifyRequest): Who | null;
  /** Throws `Refused`: nobody (401), or not with this role, or not this run (403). */
  need(request: FastifyRequest, role: RoleName, runId?: string): Who;
  hasPeople(): boolean;
  /** The cookie of a new session. Throws `Refused` for a wrong name or password, or too many of them. */
  signIn(name: string, password: string, request: FastifyRequest): Promise<string>;
  /** The cookie with which a paired device is known where it can send no header: links and pictures. */
  ofDevice(request: FastifyRequest): string;
  ofLink(token: string, request: FastifyRequest): string;
  signOut(request: FastifyRequest): string;
  people(): { name: string; role: RoleName; madeAt: string }[];
  addPerson(person: { name: string; role: RoleName; password: string }): Promise<void>;
  removePerson(name: string): boolean;
  shares(runId: string): { id: string; madeBy: string; madeAt: string; until: string }[];
  /** The token is told once; only its hash is kept. */
  addShare(runId: string, madeBy: string, days: number): { id: string; token: string; until: string; madeAt: string };
  /** False: there is no such link to this run. */
  removeShare(runId: string, id: string): boolean;
}

const idleMs = 12 * 3_600_000;
const dayMs = 86_400_000;
const guessWindowMs = 15 * 60_000;
const guessesPerName = 5;
const guessesPerAddress = 10;
const guessesInAll = 100;
const usualKept = 256;
/** Each takes tens of megabytes for a while. */
const hashesAtOnce = 2;
const hashesWaiting = 16;

const sha256 = (text: string): string => createHash('sha256').update(text).digest('hex');

export function createAccess(options: {
  readonly auth: Auth;
  readonly keeper: PeopleKeeper;
  readonly wallMs?: () => number;
  /** A clock that nobody sets: wrong passwords are held by it, so that a wall clock set back locks nobody out. */
  readonly monotonicMs?: () => number;
}): Access {
  const { auth, keeper } = options;
  const wallMs = options.wallMs ?? Date.now;
  const isoIn = (ms: number): string => new Date(wallMs() + ms).toISOString();
  const guesses = guessCounter(options.monotonicMs ?? (() => performance.now()));
  const limit = atOnce();

  const ofSession = (token: string): Who | null => {
    const session = keeper.session(sha256(token));
    if (!session || session.until < isoIn(0)) return null;
    // Each use keeps it open, but not each use writes.
    if (Date.parse(session.until) - wallMs() < idleMs / 2) keeper.putSession({ ...session, until: isoIn(idleMs) });
    return { name: session.name, role: session.role, by: 'person', onlyRun: null };
  };
  const ofShare = (token: string): Who | null => {
    const share = keeper.share(sha256(token));
    if (!share || share.until < isoIn(0)) return null;
    return { name: `link of ${share.madeBy}`, role: 'engineer', by: 'link', onlyRun: share.runId };
  };

  const who = (request: FastifyRequest): Who | null => {
    const cookie = cookieOf(request);
    const signed = cookie?.kind === 's' ? ofSession(cookie.token) : null;
    if (signed) return signed;
    const shared = cookie?.kind === 'l' ? ofShare(cookie.token) : null;
    if (shared) return shared;
    if (isLoopback(request.ip)) return { name: 'this machine', role: 'administrator', by: 'loopback', onlyRun: null };
    const device = auth.who(request.ip, bearerOf(request));
    if (device === null) return null;
    const role = keeper.people().length > 0 ? 'engineer' : 'auditor';
    return { name: device, role, by: 'paired', onlyRun: null };
  };

  return {
    who,
    need(request, role, runId) {
      const found = who(request);
      if (found === null) throw new Refused(401, 'office-sign-in');
      if (found.onlyRun !== null && found.onlyRun !== runId) throw new Refused(403, 'office-link-only');
      if (roleNames.indexOf(found.role) < roleNames.indexOf(role) || (found.by === 'link' && role !== 'engineer'))
        throw new Refused(403, 'office-role', { role, is: found.role });
      return found;
    },
    hasPeople: () => keeper.people().length > 0,
    async signIn(name, password, request) {
      guesses.hold(name, request.ip);
      // Counted before it is looked at, so that many at once gain nothing.
      const wasRight = guesses.count(name, request.ip);
      const person = keeper.person(name);
      // An unknown name costs the same time as a wrong password.
      const isRight = await limit(() => isPassword(password, person?.password ?? ''));
      if (!person || !isRight) throw new Refused(403, 'office-wrong-password');
      wasRight();
      keeper.forgetEnded(isoIn(0));
      const token = randomBytes(24).toString('base64url');
      keeper.putSession({ hash: sha256(token), name: person.name, role: person.role, until: isoIn(idleMs) });
      return setCookie(request, `s.${token}`, 7 * 24 * 3600);
    },
    ofDevice(request) {
      if (auth.who(request.ip, request.headers.authorization) === null) throw new Refused(401, 'not-paired');
      const token = request.headers.authorization?.replace(/^Bearer /, '').trim() ?? '';
      return token === '' ? setCookie(request, '', 0) : setDevice(request, token);
    },
    ofLink(token, request) {
      if (!ofShare(token)) throw new Refused(403, 'office-link-ended');
      return setCookie(request, `l.${token}`, 365 * 24 * 3600);
    },
    signOut(request) {
      const cookie = cookieOf(request);
      if (cookie?.kind === 's') keeper.removeSession(sha256(cookie.token));
      return setCookie(request, '', 0);
    },
    people: () => keeper.people().map(({ name, role, madeAt }) => ({ name, role, madeAt })),
    async addPerson({ name, role, password }) {
      const kept = await limit(() => hashPassword(password));
      keeper.putPerson({ name, role, password: kept, madeAt: isoIn(0) });
    },
    removePerson: (name) => keeper.removePerson(name),
    shares: (runId) =>
      keeper
        .shares(runId)
        .filter((s) => s.until >= isoIn(0))
        .map(({ hash, madeBy, madeAt, until }) => ({ id: hash.slice(0, 12), madeBy, madeAt, until })),
    addShare(runId, madeBy, days) {
      const token = randomBytes(24).toString('base64url');
      const share = { hash: sha256(token), runId, madeBy, madeAt: isoIn(0), until: isoIn(days * dayMs) };
      keeper.putShare(share);
      return { id: share.hash.slice(0, 12), token, until: share.until, madeAt: share.madeAt };
    },
    removeShare(runId, id) {
      const share = keeper.shares(runId).find((s) => s.hash.slice(0, 12) === id);
      if (share) keeper.removeShare(share.hash);
      return share !== undefined;
    },
  };
}

/**
 * Wrong passwords within a while: for each name, for each address, and over all, because a network has many of both.
 * Where somebody has signed in before, only what is wrong there counts: others cannot lock that person out.
 */
function guessCounter(monotonicMs: () => number) {
  const wrong: { readonly name: string; readonly address: string; readonly atMs: number }[] = [];
  const usual = new Set<string>();
  const placeOf = (name: string, address: string): string => `${address} ${comparable(name)}`;
  return {
    hold(name: string, address: string): void {
      const now = monotonicMs();
      while (wrong[0] !== undefined && now - wrong[0].atMs > guessWindowMs) wrong.shift();
      const ofName = wrong.filter((w) => w.name === comparable(name));
      const ofAddress = wrong.filter((w) => w.address === address);
      const bounds: [typeof wrong, number][] = usual.has(placeOf(name, address))
        ? [[ofName.filter((w) => w.address === address), guessesPerName]]
        : [
            [ofName, guessesPerName],
            [ofAddress, guessesPerAddress],
            [wrong, guessesInAll],
          ];
      const oldest = bounds.find(([of, most]) => of.length >= most)?.[0][0];
      if (oldest === undefined) return;
      const waitS = Math.max(1, Math.ceil((oldest.atMs + guessWindowMs - now) / 1000));
      throw new Refused(429, 'office-too-many-guesses', { waitMin: Math.ceil(waitS / 60) }, waitS);
    },
    count(name: string, address: string): () => void {
      const guess = { name: comparable(name), address, atMs: monotonicMs() };
      wrong.push(guess);
      return () => {
        const at = wrong.indexOf(guess);
        if (at >= 0) wrong.splice(at, 1);
        usual.add(placeOf(name, address));
        for (const oldest of usual) {
          if (usual.size <= usualKept) break;
          usual.delete(oldest);
        }
      };
    },
  };
}

/** Work that is dear: a few at once, some waiting, the rest refused. */
function atOnce() {
  let running = 0;
  const waiting: (() => void)[] = [];
  return async <T>(work: () => Promise<T>): Promise<T> => {
    if (running >= hashesAtOnce) {
      if (waiting.length >= hashesWaiting) throw new Refused(503, 'office-busy', {}, 2);
      await new Promise<void>((go) => waiting.push(go));
    }
    running += 1;
    try {
      return await work();
    } finally {
      running -= 1;
      waiting.shift()?.();
    }
  };
}
