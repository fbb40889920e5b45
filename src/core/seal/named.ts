/** The last event of a run: nothing but a sealing anew, where this one was cut short, is appended after it. */
export const sealEvent = 'seal';

/** Who sealed, when, and with which key, as the entry says. */
export interface SealNamed {
  readonly by: string;
  /** Fingerprint; '' where the entry does not say, as those of early versions. */
  readonly key: string;
  /** ISO 8601 UTC; '' where nobody said. */
  readonly at: string;
}

/** What is looked at of an entry. */
interface Told {
  readonly event: {
    readonly event: string;
    readonly data?: Readonly<Record<string, unknown>> | undefined;
  };
  readonly wallAt: string;
}

/** The seal that an entry tells of; null: it tells of none. A record's last entry does, where it was sealed. */
export function sealNamed(last: Told | undefined): SealNamed | null {
  if (last?.event.event !== sealEvent) return null;
  const { by, key } = last.event.data ?? {};
  return { by: typeof by === 'string' ? by : '', key: typeof key === 'string' ? key : '', at: last.wallAt };
}

/** Sealings that were begun and never ended: others were begun after them. */
export function sealsCutShort(entries: readonly Told[]): SealNamed[] {
  return entries.flatMap((entry) => sealNamed(entry) ?? []).slice(0, -1);
}

/** What an entry says now, for a fault of a chain that is the entry's own: changed or not, by this it is found again. */
export function entryNamed(
  kind: string,
  entry: { readonly event: { readonly event: string; readonly timeS: number } } | undefined,
): { named?: string } {
  return entry && ['changed', 'swapped', 'inserted'].includes(kind)
    ? { named: `${entry.event.event}, ${Math.round(entry.event.timeS)} s` }
    : {};
}
