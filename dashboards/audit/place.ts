import { signal } from '@preact/signals';

/**
 * Where the page stands, kept in the address after the number sign: whoever opens the same address sees the same view,
 * and the browser's own back button works.
 */
export interface Place {
  readonly page: 'runs' | 'run' | 'across' | 'side-by-side' | 'people';
  readonly runId: string;
  /** Runs set side by side. */
  readonly runIds: readonly string[];
  readonly fromS: number | null;
  readonly toS: number | null;
  /** Channels shown; empty: all that hold anything. */
  readonly channels: readonly string[];
  /** Finding, visit or part that is looked at. */
  readonly at: string;
  /** Everything else of a page, by name: search, sort, ... */
  readonly more: Readonly<Record<string, string>>;
}

const own = new Set(['run', 'runs', 'page', 'from', 'to', 'channels', 'at']);

function seconds(text: string | null): number | null {
  if (text === null || text === '') return null;
  const value = Number(text);
  return Number.isFinite(value) ? value : null;
}

export function placeOf(hash: string): Place {
  const words = new URLSearchParams(hash.replace(/^#/, ''));
  const runId = words.get('run') ?? '';
  const runIds = (words.get('runs') ?? '').split(',').filter(Boolean);
  const asked = words.get('page');
  const known = (['across', 'side-by-side', 'people'] as const).find((p) => p === asked);
  return {
    page: runId === '' ? (known ?? 'runs') : 'run',
    runId,
    runIds,
    fromS: seconds(words.get('from')),
    toS: seconds(words.get('to')),
    channels: (words.get('channels') ?? '').split(',').filter(Boolean),
    at: words.get('at') ?? '',
    more: Object.fromEntries([...words].filter(([name]) => !own.has(name))),
  };
}

export function hashOf(place: Partial<Place>): string {
  const words = new URLSearchParams();
  if (place.runId) words.set('run', place.runId);
  else if (place.page && place.page !== 'runs' && place.page !== 'run') words.set('page', place.page);
  if (place.runIds && place.runIds.length > 0) words.set('runs', place.runIds.join(','));
  if (typeof place.fromS === 'number') words.set('from', place.fromS.toFixed(1));
  if (typeof place.toS === 'number') words.set('to', place.toS.toFixed(1));
  if (place.channels && place.channels.length > 0) words.set('channels', place.channels.join(','));
  if (place.at) words.set('at', place.at);
  for (const [name, value] of Object.entries(place.more ?? {})) if (value !== '') words.set(name, value);
  return `#${words.toString()}`;
}

export const place = signal<Place>(placeOf(location.hash));

addEventListener('hashchange', () => {
  place.value = placeOf(location.hash);
});

/** Go there; the browser can go back. */
export function go(to: Partial<Place>): void {
  location.hash = hashOf(to);
}

/** The same page, looked at otherwise: no step of its own on the way back. */
export function stay(change: Partial<Place>): void {
  const next = { ...place.value, ...change };
  history.replaceState(null, '', hashOf(next));
  place.value = next;
}
