/** The last event of a run: nothing is appended after it. */
export const sealEvent = 'seal';

/** Who sealed, and with which key, as the entry says. */
export interface SealNamed {
  readonly by: string;
  /** Fingerprint; '' where the entry does not say, as those of early versions. */
  readonly key: string;
}

/** What is looked at of an event. */
interface Told {
  readonly event: string;
  readonly data?: Readonly<Record<string, unknown>> | undefined;
}

/** The seal that an entry tells of; null: it tells of none. A record's last entry does, where it was sealed. */
export function sealNamed(last: Told | undefined): SealNamed | null {
  if (last?.event !== sealEvent) return null;
  const { by, key } = last.data ?? {};
  return { by: typeof by === 'string' ? by : '', key: typeof key === 'string' ? key : '' };
}
