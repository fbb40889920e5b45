import { z } from 'zod';

/**
 * SenML in JSON (RFC 8428), the part that the wire stands on: the schema of a pack and the resolution of base fields
 * (section 4.6). Knows nothing of kits or channels.
 */
export const senmlRecordSchema = z.looseObject({
  bn: z.string().optional(),
  bt: z.number().optional(),
  bu: z.string().optional(),
  bv: z.number().optional(),
  bs: z.number().optional(),
  bver: z.int().positive().optional(),
  n: z.string().optional(),
  u: z.string().optional(),
  v: z.number().optional(),
  vs: z.string().optional(),
  vb: z.boolean().optional(),
  /** base64url without padding. */
  vd: z.string().optional(),
  s: z.number().optional(),
  t: z.number().optional(),
  ut: z.number().optional(),
});
export type SenmlRecord = z.infer<typeof senmlRecordSchema>;

export const senmlPackSchema = z.array(senmlRecordSchema).min(1);
export type SenmlPack = z.infer<typeof senmlPackSchema>;

/** Fields that apply to their own record and all that follow (RFC 8428 section 4.1). */
export const baseFields: readonly string[] = ['bn', 'bt', 'bu', 'bv', 'bs', 'bver'];

/** The version that RFC 8428 defines; a pack of a later one is not understood. */
const definedVersion = 10;

/** From here on a time is Unix seconds, below it is relative to now (RFC 8428 section 4.5.3). */
export const absoluteTimeFrom = 2 ** 28;

/** A record that stands alone: no base field, full name. */
export interface ResolvedRecord {
  readonly n: string;
  readonly u: string | null;
  /** As sent: absolute from `absoluteTimeFrom` on, else relative to now. */
  readonly t: number;
  readonly v: number | undefined;
  readonly vs: string | undefined;
  readonly vb: boolean | undefined;
  readonly vd: string | undefined;
  readonly s: number | undefined;
  readonly ut: number | undefined;
  /** Only where it is not the version that RFC 8428 defines. */
  readonly bver: number | undefined;
}

export interface SenmlProblem {
  readonly code: 'wire-version' | 'wire-label' | 'wire-name' | 'wire-values' | 'wire-base64';
  readonly params: Readonly<Record<string, string | number>>;
}

/** Base fields in force while a pack is read from its first record to its last. */
export class SenmlBase {
  #bn = '';
  /** The base name is a whole name by itself: then what follows needs only the right letters. */
  #plainBase = false;
  #bt = 0;
  #bu: string | null = null;
  #bv: number | null = null;
  #bs: number | null = null;
  #bver = definedVersion;

  /** Take over the base fields of a record; a problem means that the whole pack is not understood. */
  take(record: SenmlRecord): SenmlProblem | null {
    if (record.bn !== undefined) {
      this.#bn = record.bn;
      this.#plainBase = namePattern.test(record.bn);
    }
    if (record.bt !== undefined) this.#bt = record.bt;
    if (record.bu !== undefined) this.#bu = record.bu;
    if (record.bv !== undefined) this.#bv = record.bv;
    if (record.bs !== undefined) this.#bs = record.bs;
    if (record.bver !== undefined) {
      if (record.bver > definedVersion) return { code: 'wire-version', params: { found: record.bver } };
      this.#bver = record.bver;
    }
    return null;
  }

  #isName(own: string, whole: string): boolean {
    return this.#plainBase ? tailPattern.test(own) : namePattern.test(whole);
  }

  /** Resolve one record whose base fields were taken. A problem concerns this record alone. */
  resolve(record: SenmlRecord): ResolvedRecord | SenmlProblem {
    const n = this.#bn + (record.n ?? '');
    if (!this.#isName(record.n ?? '', n)) return { code: 'wire-name', params: { found: n } };
    const s = record.s !== undefined || this.#bs !== null ? (this.#bs ?? 0) + (record.s ?? 0) : undefined;
    const text = +(record.vs !== undefined) + +(record.vb !== undefined) + +(record.vd !== undefined);
    const v = text === 0 && this.#bv !== null ? this.#bv + (record.v ?? 0) : record.v;
    const values = text + +(v !== undefined);
    if (values > 1 || (values === 0 && s === undefined)) return { code: 'wire-values', params: { name: n, values } };
    if (record.vd !== undefined && !base64url.test(record.vd)) return { code: 'wire-base64', params: { name: n } };
    return {
      n,
      u: record.u ?? this.#bu,
      t: this.#bt + (record.t ?? 0),
      v,
      vs: record.vs,
      vb: record.vb,
      vd: record.vd,
      s,
      ut: record.ut,
      bver: this.#bver === definedVersion ? undefined : this.#bver,
    };
  }
}

/** Letters, digits and - : . / _, the first a letter or digit (RFC 8428 section 4.5.1). */
const namePattern = /^[A-Za-z0-9][A-Za-z0-9\-:./_]*$/;
const tailPattern = /^[A-Za-z0-9\-:./_]*$/;
const base64url = /^(?:[A-Za-z0-9_-]{4})*(?:[A-Za-z0-9_-]{2,3})?$/;

/** A label that ends in `_` must be understood or the pack refused (RFC 8428 section 4.4); we understand none. */
export function unknownMust(record: SenmlRecord): SenmlProblem | null {
  for (const label in record) {
    if (label.charCodeAt(label.length - 1) === 0x5f) return { code: 'wire-label', params: { found: label } };
  }
  return null;
}

/**
 * Resolve a whole pack (RFC 8428 section 4.6): records that stand alone, absolute times, chronological. The first problem
 * refuses it all; `decode.ts`, which must save what can be saved, works record by record instead.
 * @param nowUnixS Unix seconds to which relative times refer.
 */
export function resolvePack(pack: SenmlPack, nowUnixS: number): ResolvedRecord[] | SenmlProblem {
  const base = new SenmlBase();
  const records: ResolvedRecord[] = [];
  for (const record of pack) {
    const problem = unknownMust(record) ?? base.take(record);
    if (problem) return problem;
    const resolved = base.resolve(record);
    if ('code' in resolved) return resolved;
    records.push(resolved.t < absoluteTimeFrom ? { ...resolved, t: nowUnixS + resolved.t } : resolved);
  }
  return records.sort((a, b) => a.t - b.t);
}
