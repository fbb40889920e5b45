import type { SampleKey } from '../../src/core/quantity/channels.ts';

/** What a kit tells of itself at start and on request. Ranges and steps in our units. */
export interface Hello {
  readonly firmware: string;
  readonly rateHz: number | null;
  readonly channels: Readonly<Record<string, { lo?: number; hi?: number; step?: number }>>;
}

/** One pack, decoded and checked: one instant of one kit. Its identity is (kit, boot, seq). */
export interface Pack {
  readonly kit: string;
  readonly boot: number;
  readonly seq: number;
  /** Seconds since the kit's start, by its own clock. */
  readonly upS: number;
  /** Kept by the kit while the link was away. */
  readonly late: boolean;
  /** The kit's button was pressed. */
  readonly pass: boolean;
  /** Believed values in our units, rounded to the channel's decimals. */
  readonly values: Readonly<Partial<Record<SampleKey, number>>>;
  /** `raw-<channel>` values, V or count. */
  readonly raw: Readonly<Record<string, number>>;
  readonly hello: Hello | null;
  /** Reason text of a refused command. */
  readonly refused: string | null;
  /** Unix seconds by the kit's own clock, where it has one (`bt`): kept for the record, never used for order. */
  readonly kitClockS?: number;
  /** Records of this pack that were not believed (unknown channel, wrong unit, absurd value): counted and shown. */
  readonly rejects: readonly Reject[];
}

/** Something on the wire that was not taken: a code of message/wire.ts with what was found, expected and where. */
export interface Reject {
  readonly code: string;
  readonly params: Readonly<Record<string, string | number>>;
}

export type Decoded = { readonly ok: true; readonly pack: Pack } | { readonly ok: false; readonly reject: Reject };
