/** Something the pipes say: `code` names a sentence of message/hydraulics.ts, `figures` fill it (units in their names). */
export interface Remark {
  /** When it was said, and the span it speaks of, run-clock seconds; `fromS` <= `toS` <= `atS`. */
  readonly atS: number;
  readonly fromS: number;
  readonly toS: number;
  readonly reason: { readonly code: string; readonly figures: Readonly<Record<string, number>> };
}

export function remark(code: string, fromS: number, atS: number, figures: Readonly<Record<string, number>>): Remark {
  return { atS, fromS: Math.min(fromS, atS), toS: atS, reason: { code, figures } };
}

/** One second of a run: means of the readings that came in it, null where none did. */
export interface Second {
  /** Middle of the readings, run-clock seconds. */
  readonly timeS: number;
  readonly flowLpm: number | null;
  readonly pressureBar: number | null;
  readonly returnC: number | null;
  readonly turbidityNtu: number | null;
}
