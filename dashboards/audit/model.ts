import { signal } from '@preact/signals';
import { type OfficeMe, type RoleName, roleNames, type RunPage } from '../../src/core/audit/page-schema.ts';
import { kept, keep } from '../shared/keep.ts';
import { bridge, RefusedByBridge } from './client.ts';
import { place, stay } from './place.ts';
import { TraceFeed } from './trace-feed.ts';

/** Who looks, as the bridge knows it; null before the first answer. */
export const me = signal<OfficeMe | null>(null);
/** What went wrong last, in words; null when all is well. */
export const problem = signal<string | null>(null);

const tokenKey = 'limpid-token';

export function may(role: RoleName): boolean {
  const is = me.value?.role ?? null;
  return is !== null && me.value?.by !== 'link' && roleNames.indexOf(is) >= roleNames.indexOf(role);
}

/** The sentence of an error, for people. */
export function sentence(error: unknown): string {
  if (error instanceof RefusedByBridge) return error.message;
  return error instanceof Error ? `This page met a fault of its own: ${error.message}` : String(error);
}

/** Does it, and tells when it goes wrong. Null then. */
export async function tried<T>(work: () => Promise<T>): Promise<T | null> {
  try {
    const done = await work();
    problem.value = null;
    return done;
  } catch (error) {
    if (error instanceof DOMException && error.name === 'AbortError') return null;
    if (error instanceof RefusedByBridge && error.status === 401) await askWho();
    else problem.value = sentence(error);
    return null;
  }
}

async function askWho(): Promise<void> {
  me.value = await bridge.me();
}

let early: { readonly runId: string; readonly page: Promise<RunPage> } | null = null;

/** What the page of a run needs is asked for before it is known who looks; whoever may not see it is refused all the same. */
function askEarly(runId: string): void {
  early = { runId, page: bridge.run(runId) };
  // Whoever takes it up tells what went wrong.
  early.page.catch(() => {});
  TraceFeed.askEarly(runId);
}

export function takeEarly(runId: string): Promise<RunPage> | null {
  const taken = early?.runId === runId ? early.page : null;
  early = null;
  return taken;
}

/** Finds out who looks: by a link in the address, by pairing, or by a session. */
export async function begin(): Promise<void> {
  const { link } = place.value.more;
  if (!link && place.value.runId !== '') askEarly(place.value.runId);
  if (link) {
    await tried(() => bridge.useLink(link));
    // The token leaves the address, so that it is not passed on with it.
    const { link: _, ...more } = place.value.more;
    stay({ more });
  }
  await tried(askWho);
  const token = kept(tokenKey);
  if (me.value?.role === null && token !== null && (await tried(() => bridge.useDevice(token)))) await tried(askWho);
}

/** Null when it went well, else what is wrong. */
export async function signIn(name: string, password: string): Promise<string | null> {
  return await attempt(() => bridge.signIn(name, password));
}

export async function pairHere(code: string): Promise<string | null> {
  return await attempt(async () => {
    const { token } = await bridge.pair(code);
    keep(tokenKey, token);
    await bridge.useDevice(token);
  });
}

async function attempt(work: () => Promise<unknown>): Promise<string | null> {
  try {
    await work();
    await askWho();
    return null;
  } catch (error) {
    return sentence(error);
  }
}

export async function signOut(): Promise<void> {
  await tried(() => bridge.signOut());
  await tried(askWho);
}

const nameKey = 'limpid-auditor';
/** Name under which comments are written where nobody signed in. */
export const typedName = signal(kept(nameKey) ?? '');
export function keepName(name: string): void {
  typedName.value = name;
  keep(nameKey, name);
}
