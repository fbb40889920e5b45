import type { FastifyRequest } from 'fastify';
import { describe, expect, it } from 'vitest';
import { createAccess } from '../../../src/server/access.ts';
import { createAuth } from '../../../src/server/auth.ts';
import { hashPassword, isPassword } from '../../../src/server/password.ts';
import { partOf } from '../../../src/server/send-file.ts';
import { fakePeople } from './fake-audit.ts';

function world() {
  let wallMs = Date.UTC(2026, 0, 1);
  let monotonicMs = 0;
  const auth = createAuth({ code: '123456', wallMs: () => wallMs, monotonicMs: () => monotonicMs });
  const clocks = { wallMs: () => wallMs, monotonicMs: () => monotonicMs };
  const access = createAccess({ auth, keeper: fakePeople(), ...clocks });
  // The parts of a request that access looks at.
  const from = (ip: string, headers: Record<string, string> = {}) => ({ ip, headers }) as FastifyRequest;
  const cookie = (set: string): Record<string, string> => ({ cookie: set.split(';')[0] ?? '' });
  const pass = (ms: number): void => {
    wallMs += ms;
    monotonicMs += ms;
  };
  return { auth, access, from, cookie, pass, setClock: (ms: number) => (wallMs += ms) };
}
const lan = '192.0.2.7';

describe('who may look', () => {
  it('with no set-up: this machine does all, a paired device comments, others nothing', () => {
    const { auth, access, from } = world();
    expect(access.who(from('127.0.0.1'))).toMatchObject({ role: 'administrator', by: 'loopback' });
    expect(access.who(from(lan))).toBeNull();
    const token = auth.pair('123456', lan);
    expect(access.who(from(lan, { authorization: `Bearer ${token}` }))).toMatchObject({
      role: 'auditor',
      by: 'paired',
    });
    expect(() => access.need(from(lan), 'engineer')).toThrow('office-sign-in');
  });

  it('with people: a paired device only looks, and each role may do what it may', async () => {
    const { auth, access, from, cookie } = world();
    await access.addPerson({ name: 'A. Auditor', role: 'auditor', password: 'correct horse' });
    const device = from(lan, { authorization: `Bearer ${auth.pair('123456', lan)}` });
    expect(access.who(device)?.role).toBe('engineer');
    expect(() => access.need(device, 'auditor')).toThrow('office-role');
    const set = await access.signIn('a. auditor', 'correct horse', from(lan));
    expect(set).toMatch(/HttpOnly; SameSite=Strict/);
    const person = from(lan, cookie(set));
    expect(access.need(person, 'auditor').name).toBe('A. Auditor');
    expect(() => access.need(person, 'administrator')).toThrow('office-role');
    access.signOut(person);
    expect(access.who(person)).toBeNull();
  });

  it('a session ends when it was idle, and a used one stays open', async () => {
    const { access, from, cookie, pass } = world();
    await access.addPerson({ name: 'A', role: 'engineer', password: 'correct horse' });
    const person = from(lan, cookie(await access.signIn('A', 'correct horse', from(lan))));
    pass(11 * 3_600_000);
    expect(access.who(person)).not.toBeNull();
    pass(11 * 3_600_000);
    expect(access.who(person)).not.toBeNull();
    pass(13 * 3_600_000);
    expect(access.who(person)).toBeNull();
  });

  it('a link shows its run alone, read only, until it ends or is ended', () => {
    const { access, from, cookie, pass } = world();
    const { token, id } = access.addShare('run-1', 'A', 2);
    const guest = from(lan, cookie(access.ofLink(token, from(lan))));
    expect(access.need(guest, 'engineer', 'run-1').by).toBe('link');
    expect(() => access.need(guest, 'engineer', 'run-2')).toThrow('office-link-only');
    expect(() => access.need(guest, 'engineer')).toThrow('office-link-only');
    expect(() => access.need(guest, 'auditor', 'run-1')).toThrow('office-role');
    pass(2 * 86_400_000 + 1000);
    expect(access.who(guest)).toBeNull();
    expect(() => access.ofLink(token, from(lan))).toThrow('office-link-ended');
    const other = access.addShare('run-1', 'A', 2);
    expect(access.removeShare('run-2', other.id)).toBe(false);
    expect(access.removeShare('run-1', other.id)).toBe(true);
    expect(() => access.ofLink(other.token, from(lan))).toThrow('office-link-ended');
    expect(id).not.toBe(other.id);
  });
});

describe('guessing', () => {
  it('is refused after five wrong passwords for a name, right ones too, until a while has passed', async () => {
    const { access, from, pass } = world();
    await access.addPerson({ name: 'A', role: 'engineer', password: 'correct horse' });
    const usual = from('192.0.2.200');
    await access.signIn('A', 'correct horse', usual);
    for (let i = 0; i < 5; i++)
      await expect(access.signIn('A', `wrong ${i}`, from(`192.0.2.${i}`))).rejects.toThrow('office-wrong-password');
    await expect(access.signIn('A', 'correct horse', from(lan))).rejects.toThrow('office-too-many-guesses');
    // Others cannot lock a person out where that person is used to sign in.
    await expect(access.signIn('A', 'correct horse', usual)).resolves.toContain('limpid=s.');
    pass(15 * 60_000 + 1000);
    await expect(access.signIn('A', 'correct horse', from(lan))).resolves.toContain('limpid=s.');
  });

  it('is held by a clock that nobody sets: one that is set back makes nobody wait longer, one set ahead nobody less', async () => {
    const { auth, access, from, pass, setClock } = world();
    await access.addPerson({ name: 'A', role: 'engineer', password: 'correct horse' });
    for (let i = 0; i < 5; i++) {
      await expect(access.signIn('A', `wrong ${i}`, from(lan))).rejects.toThrow('office-wrong-password');
      expect(() => auth.pair('000000', lan)).toThrow('wrong-code');
    }
    setClock(365 * 86_400_000);
    await expect(access.signIn('A', 'correct horse', from(lan))).rejects.toThrow('office-too-many-guesses');
    expect(() => auth.pair('123456', lan)).toThrow('too-many-guesses');
    setClock(-2 * 365 * 86_400_000);
    pass(15 * 60_000 + 1000);
    await expect(access.signIn('A', 'correct horse', from(lan))).resolves.toContain('limpid=s.');
    expect(auth.pair('123456', lan)).toBeTypeOf('string');
  });

  it('is counted before it is looked at, so that many at once gain nothing, and for names that nobody has', async () => {
    const { access, from } = world();
    const all = await Promise.allSettled(
      Array.from({ length: 12 }, (_, i) => access.signIn('nobody', `${i}`, from(lan))),
    );
    const words = all.map((r) => (r.status === 'rejected' ? String(r.reason) : 'in'));
    expect(words.filter((w) => w.includes('office-wrong-password'))).toHaveLength(5);
    expect(words.filter((w) => w.includes('office-too-many-guesses'))).toHaveLength(7);
  });
});

describe('the cookie', () => {
  it('is out of reach of scripts and other sites, and by https of everything by http', () => {
    const { auth, access, from, cookie } = world();
    const headers = { authorization: `Bearer ${auth.pair('123456', lan)}` };
    const plain = access.ofDevice(from(lan, headers));
    expect(plain).toMatch(/^limpid=d\.[\w-]+; Path=\/; HttpOnly; SameSite=Strict; Max-Age=\d+$/);
    const secure = access.ofDevice({ ...from(lan, headers), protocol: 'https' });
    expect(secure).toMatch(/^__Host-limpid=d\.[\w-]+; Path=\/; HttpOnly; SameSite=Strict; Max-Age=\d+; Secure$/);
    expect(access.who(from(lan, cookie(plain)))).not.toBeNull();
    expect(access.who({ ...from(lan, cookie(secure)), protocol: 'https' })).not.toBeNull();
    expect(access.who({ ...from(lan, cookie(plain)), protocol: 'https' })).toBeNull();
  });
});

describe('passwords', () => {
  it('are kept salted, are known again, and a damaged hash opens nothing', async () => {
    const [a, b] = await Promise.all([hashPassword('correct horse'), hashPassword('correct horse')]);
    expect(a).not.toBe(b);
    expect(a).not.toContain('horse');
    expect(await isPassword('correct horse', a)).toBe(true);
    expect(await isPassword('correct horsf', a)).toBe(false);
    for (const bad of ['', 'scrypt$15$8$3$$', a.slice(0, -1), a.replace('$15$', '$31$')])
      expect(await isPassword('correct horse', bad)).toBe(false);
  });

  it('are the same however a keyboard composes a letter (NFKC)', async () => {
    expect(await isPassword('Ku\u0308che-schlu\u0308ssel', await hashPassword('K\u00fcche-schl\u00fcssel'))).toBe(true);
  });
});

describe('a part of a download', () => {
  it.each([
    ['bytes=0-9', 100, [0, 9]],
    ['bytes=90-', 100, [90, 99]],
    ['bytes=-10', 100, [90, 99]],
    ['bytes=50-500', 100, [50, 99]],
    ['bytes=100-', 100, 'outside'],
    ['bytes=9-3', 100, 'outside'],
    ['bytes=0-1,5-6', 100, null],
    [undefined, 100, null],
  ] as const)('%s of %i bytes', (range, size, part) => {
    expect(partOf(range, size)).toEqual(part);
  });
});
