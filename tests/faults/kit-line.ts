import { encodeLine } from '../../firmware-bridge/wire/encode.ts';
import type { Hello } from '../../firmware-bridge/wire/pack.ts';
import type { Sample } from '../../src/core/quantity/sample.ts';
import type { TimedChunk } from '../../simulators/line/faults.ts';

export const kitUrn = 'urn:dev:mac:02000000feed0001';

/** Something that happens to the kit at a moment of the run. */
export type KitHappening =
  /** Started anew: nothing for `deadS`, then boot, sequence and `up` anew. A kit that keeps no start count sends the same. */
  | { readonly kind: 'restart'; readonly atS: number; readonly deadS: number; readonly keepsBoot: boolean }
  /** The kit's clock leaps. */
  | { readonly kind: 'leap'; readonly atS: number; readonly byS: number }
  /** From here on the kit's clock is fast by so many parts in a million. */
  | { readonly kind: 'drift'; readonly atS: number; readonly ppm: number }
  /** The link is away; what was read meanwhile is kept and sent marked as late, or lost. */
  | { readonly kind: 'away'; readonly atS: number; readonly toS: number; readonly keeps: boolean };

export interface KitClock {
  /** `up` at the first sample, seconds. */
  readonly firstUpS: number;
  /** Seconds at which `up` runs over. */
  readonly wrapS: number;
}

const steady: KitClock = { firstUpS: 12.5, wrapS: Number.POSITIVE_INFINITY };

/** Time from the reading to the last byte of its line at 115200 baud. */
const onTheLineS = 0.02;

/** What a kit sends of these readings, line by line, with what happens to it on the way. Times are the truth's. */
export function kitLines(
  samples: readonly Sample[],
  happenings: readonly KitHappening[],
  hello: Hello | null,
  clock: KitClock = steady,
): TimedChunk[] {
  const due = happenings.toSorted((a, b) => a.atS - b.atS);
  const out: TimedChunk[] = [];
  let kept: (() => Uint8Array)[] = [];
  let [boot, seq, ppm, deadToS, next] = [7, 0, 0, Number.NEGATIVE_INFINITY, 0];
  let away: { toS: number; keeps: boolean } | null = null;
  let upS = clock.firstUpS;
  let lastS = samples[0]?.timeS ?? 0;
  for (const { timeS, ...values } of samples) {
    upS += (timeS - lastS) * (1 + ppm * 1e-6);
    lastS = timeS;
    for (let h = due[next]; h && h.atS <= timeS; h = due[++next]) {
      if (h.kind === 'leap') upS = Math.max(0, upS + h.byS);
      else if (h.kind === 'drift') ppm = h.ppm;
      else if (h.kind === 'away') away = h;
      else {
        if (h.keepsBoot) boot += 1;
        seq = 0;
        upS = 0.4 - h.deadS;
        deadToS = h.atS + h.deadS;
        // What it had kept is gone with its memory.
        kept = [];
      }
    }
    if (timeS < deadToS) continue;
    const said = seq === 0 && hello ? { hello } : { values };
    const pack = { kit: kitUrn, boot, seq, upS: Number((Math.max(0, upS) % clock.wrapS).toFixed(3)), ...said };
    seq += 1;
    if (away && timeS < away.toS) {
      if (away.keeps) kept.push(() => encodeLine({ ...pack, late: true }));
      continue;
    }
    for (const line of kept.splice(0)) out.push({ atS: timeS + onTheLineS, bytes: line() });
    away = null;
    out.push({ atS: timeS + onTheLineS, bytes: encodeLine(pack) });
  }
  return out;
}
