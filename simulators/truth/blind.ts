import type { Blindness, TruthRow } from './log.ts';

export interface BlindSpan {
  readonly fromS: number;
  readonly toS: number;
  readonly why: Blindness;
}

export interface Withholding {
  /** To refuse is right. */
  readonly must: boolean;
  /** To refuse is neither right nor wrong: something hindered, but not all the time. */
  readonly may: boolean;
  readonly why: Blindness | 'fouled';
}

/** Film on the window that would lift a clear reading visibly over the clear level. */
const fouledNtu = 4;

/** What a verdict at the end of these rows should refuse; `lastPassS` is when the last pass ended. */
export function withholding(rows: readonly TruthRow[], lastPassS: number): Withholding {
  const end = rows.at(-1);
  if (!end) return { must: false, may: true, why: 'none' };
  const after = rows.filter((row) => row.timeS >= lastPassS);
  const blind = after.filter((row) => row.blind !== 'none' && row.blind !== 'no-flow');
  if (end.blind !== 'none') return { must: true, may: true, why: end.blind };
  if (blind.length > 0.8 * after.length) return { must: true, may: true, why: blind.at(-1)?.blind ?? 'none' };
  const fouled = end.foulingNtu > fouledNtu;
  const hindered = rows.some((row) => row.blind !== 'none' || !row.flowKnown) || fouled;
  return { must: false, may: hindered, why: fouled ? 'fouled' : 'none' };
}

export function blindSpans(rows: readonly TruthRow[]): BlindSpan[] {
  const out: { fromS: number; toS: number; why: Blindness }[] = [];
  for (const row of rows) {
    const last = out.at(-1);
    if (row.blind === 'none') continue;
    if (last && last.why === row.blind && row.timeS - last.toS < 1) last.toS = row.timeS;
    else out.push({ fromS: row.timeS, toS: row.timeS, why: row.blind });
  }
  return out;
}

/** Seconds between two moments in which the sensor could see and water flowed. */
export function seeingS(blind: readonly BlindSpan[], fromS: number, toS: number): number {
  const dark = blind.reduce((sum, b) => sum + Math.max(0, Math.min(b.toS, toS) - Math.max(b.fromS, fromS)), 0);
  return Math.max(0, toS - fromS - dark);
}
