import { computed, signal } from '@preact/signals';
import { z } from 'zod';
import { type BenchView, benchViewSchema } from '../../src/core/job/bench-schema.ts';
import { pairedSchema, refusalSchema } from '../../src/server/protocol.ts';

/** The bench as the bridge last told it; null before the first word. */
export const bench = signal<BenchView | null>(null);
/** True while the bridge does not answer: what is shown is old. */
export const lost = signal(false);
/** This device may only watch until it is paired. */
export const mustPair = signal(false);
const chosen = signal<string | null>(null);

export const kit = computed(() => {
  const kits = bench.value?.kits ?? [];
  return kits.find((k) => k.kit === chosen.value) ?? kits.find((k) => k.leads) ?? kits[0] ?? null;
});

export function choose(name: string): void {
  chosen.value = name;
}

const tokenKey = 'limpid-token';
const pollMs = 500;

function token(): string | null {
  try {
    return localStorage.getItem(tokenKey);
  } catch {
    return null;
  }
}

/** What was refused, in the bridge's own words. */
export class RefusedByBridge extends Error {}

/** Asks the bridge; throws RefusedByBridge with a sentence for people. */
export async function ask<S extends z.ZodType>(path: string, body: unknown, schema: S): Promise<z.output<S>> {
  const known = token();
  const headers: Record<string, string> = { 'content-type': 'application/json' };
  if (known !== null) headers['authorization'] = `Bearer ${known}`;
  let answer: Response;
  try {
    answer = await fetch(`/api/bench/${path}`, { method: 'POST', headers, body: JSON.stringify(body) });
  } catch {
    throw new RefusedByBridge('The bridge does not answer. Is it running, and is this device in its network?');
  }
  const value: unknown = await answer.json();
  if (answer.ok) return schema.parse(value);
  if (answer.status === 401) mustPair.value = true;
  const refusal = refusalSchema.safeParse(value);
  throw new RefusedByBridge(refusal.success ? refusal.data.text : `The bridge answered ${answer.status}.`);
}

/** Null when it went well, else what is wrong. */
export async function pair(code: string): Promise<string | null> {
  const answer = await fetch('/api/pair', {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify({ code }),
  });
  const value: unknown = await answer.json();
  if (!answer.ok) {
    const refusal = refusalSchema.safeParse(value);
    return refusal.success ? refusal.data.text : `The bridge answered ${answer.status}.`;
  }
  try {
    localStorage.setItem(tokenKey, pairedSchema.parse(value).token);
  } catch {
    return 'This browser keeps nothing, so it cannot stay paired.';
  }
  mustPair.value = false;
  return null;
}

async function look(): Promise<void> {
  try {
    const answer = await fetch('/api/bench', { cache: 'no-store', signal: AbortSignal.timeout(4000) });
    bench.value = benchViewSchema.parse(await answer.json());
    lost.value = false;
  } catch {
    lost.value = true;
  }
}

/** Twice a second, for as long as the page is there. */
export function startLooking(): void {
  const again = async (): Promise<void> => {
    if (!document.hidden) await look();
    setTimeout(() => void again(), pollMs);
  };
  void again();
}
