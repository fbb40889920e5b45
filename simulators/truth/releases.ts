import type { TruePass, TrueVisit } from '../engineer/site.ts';
import type { TurbiditySpec } from '../sensors/turbidity.ts';
import { clearNtu } from './clear.ts';
import { detectableNtu } from './detectable.ts';
import type { TruthRow } from './log.ts';

/** A pulse as the sensor truly met it. */
export interface TrueRelease {
  /** When it first stood at the sensor with 1 NTU, and with 5 % of its peak (1 NTU at least). */
  readonly firstS: number;
  readonly onsetS: number;
  readonly peakS: number;
  readonly peakNtu: number;
  /** All that stood at the sensor at its onset and at its peak. */
  readonly levelBeforeNtu: number;
  readonly topNtu: number;
  /** A front that can be asked for: it lifted the water by more than can be detected, in time before the shutting. */
  readonly isDue: boolean;
  /** Its pass was told to the tablet. */
  readonly isTold: boolean;
}

/** A release that never reached so much at the sensor is none that anybody could be asked to see. */
const leastReleaseNtu = clearNtu;
const leastOnsetNtu = 1;
const onsetShare = 0.05;
/** A front that comes later before the shutting than this need not be seen any more. */
const beforeShutS = 15;

export interface ReleaseRows {
  readonly visit: TrueVisit;
  readonly passes: readonly TruePass[];
  /** Rows of the visit. */
  readonly rows: readonly TruthRow[];
  readonly sensor: TurbiditySpec;
}

/** The rush at the opening and each pass have their own slot; read each one's curve at the sensor. */
export function releasesOf({ visit, passes, rows, sensor }: ReleaseRows): TrueRelease[] {
  const openingSlot = rows[0]?.slotVisit.lastIndexOf(visit.number) ?? -1;
  const sources: { slot: number; startS: number; isTold: boolean }[] = passes.map((pass) => ({
    slot: pass.slot,
    startS: pass.startS,
    isTold: pass.toldS !== null,
  }));
  if (openingSlot >= 0) sources.unshift({ slot: openingSlot, startS: visit.fromS, isTold: true });
  const out: TrueRelease[] = [];
  for (const source of sources) {
    // A slot is taken again by the fourth pass after; until then the curve is this one's.
    const reused = sources.find((other) => other.slot === source.slot && other.startS > source.startS);
    const untilS = reused?.startS ?? Number.POSITIVE_INFINITY;
    const curve = rows.filter((row) => row.timeS >= source.startS && row.timeS < untilS);
    const release = readCurve(curve, source.slot, sensor);
    if (release) out.push({ ...release, isTold: source.isTold });
  }
  return out;
}

function readCurve(
  curve: readonly TruthRow[],
  slot: number,
  sensor: TurbiditySpec,
): Omit<TrueRelease, 'isTold'> | null {
  const rise = risesOf(curve, slot);
  const peakNtu = Math.max(0, ...rise);
  if (peakNtu < leastReleaseNtu) return null;
  const peakAt = rise.indexOf(peakNtu);
  const firstAt = rise.findIndex((ntu) => ntu >= leastOnsetNtu);
  const onsetAt = rise.findIndex((ntu) => ntu >= Math.max(leastOnsetNtu, onsetShare * peakNtu));
  const peak = curve[peakAt];
  const onset = curve[onsetAt];
  const end = curve.at(-1);
  if (!peak || !onset || !end) return null;
  // Where it only slows the fall of what came before there is no front to see.
  let lowest = Number.POSITIVE_INFINITY;
  let liftNtu = 0;
  for (const row of curve.slice(Math.max(0, firstAt - 1), peakAt + 1)) {
    lowest = Math.min(lowest, row.totalNtu);
    liftNtu = Math.max(liftNtu, row.totalNtu - lowest);
  }
  const isDue = liftNtu >= detectableNtu(sensor, onset.totalNtu) && end.timeS - onset.timeS >= beforeShutS;
  return {
    firstS: curve[firstAt]?.timeS ?? onset.timeS,
    onsetS: onset.timeS,
    peakS: peak.timeS,
    peakNtu,
    levelBeforeNtu: onset.totalNtu,
    topNtu: peak.totalNtu,
    isDue,
  };
}

/** How far a slot's dirt stands over the least so far: what it took over from an older pass may be there at the start. */
function risesOf(curve: readonly TruthRow[], slot: number): number[] {
  let lowest = Number.POSITIVE_INFINITY;
  return curve.map((row) => {
    const ntu = row.slotNtu[slot] ?? 0;
    lowest = Math.min(lowest, ntu);
    return ntu - lowest;
  });
}

/** Spans, seconds: a front dated inside stands for water that did get dirtier there, whatever brought it. */
export interface StirSpan {
  readonly fromS: number;
  toS: number;
}

const lookBackS = 20;
const lookAheadS = 35;
const leastStirNtu = 1;
/** Times the noise: less than what can be asked for, since more than one reading shows it. */
const stirNoises = 1.5;

/** Where the noise-free water rose by enough to be real: an echo, an earlier visit's late pulse, a background's return. */
export function stirsOf(rows: readonly TruthRow[], sensor: TurbiditySpec): StirSpan[] {
  const out: StirSpan[] = [];
  let from = 0;
  let to = 0;
  for (const row of rows) {
    if (row.timeS % 1 >= 0.5) continue;
    while ((rows[from]?.timeS ?? row.timeS) < row.timeS - lookBackS) from += 1;
    while (to < rows.length && (rows[to]?.timeS ?? 0) <= row.timeS + lookAheadS) to += 1;
    let lowest = Number.POSITIVE_INFINITY;
    let rise = 0;
    for (let i = from; i < to; i += 1) {
      const ntu = rows[i]?.totalNtu ?? 0;
      lowest = Math.min(lowest, ntu);
      rise = Math.max(rise, ntu - lowest);
    }
    if (rise < Math.max(leastStirNtu, stirNoises * Math.hypot(sensor.noiseNtu, sensor.noiseShare * lowest))) continue;
    const last = out.at(-1);
    if (last && row.timeS - last.toS < 1.6) last.toS = row.timeS;
    else out.push({ fromS: row.timeS, toS: row.timeS });
  }
  return out;
}
