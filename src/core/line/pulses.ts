import { type Front, Fronts } from './front.ts';
import type { HiddenPulse } from './hidden.ts';
import { highestOf, levelAt } from './level.ts';
import type { Loop } from './loop.ts';
import type { Open, VisitRecord } from './record.ts';
import type { LineSettings } from './settings.ts';
import type { Pulse } from './verdict.ts';

/** What the line does with a second that can be read. */
export interface Seen {
  readonly timeS: number;
  readonly ntu: number;
  readonly sd: number;
  readonly excess: number;
  /** Litres of this second. */
  readonly litres: number;
  /** Limit of detection, and quantisation step of the sensor, NTU. */
  readonly detectionNtu: number;
  readonly stepNtu: number;
  /** Whether the water of a pass is due at the sensor now. */
  readonly isDue: boolean;
}

/** What a pulse adds to, so that it can be taken back. */
interface Stood {
  readonly peakExcess: number;
  readonly passedNtuL: number;
  readonly peak: Loop['peak'];
}

const untouched = { peakExcess: 0, passedNtuL: 0, peak: { ntu: 0, litres: 0 }, ntu: 0 };

/** Follows the pulses of a visit: onset, peak, fall and end. */
export class PulseWatch {
  /** Highest excess of the visit's pulses, NTU, and what of them has gone by, NTU litres. */
  peakExcess = 0;
  passedNtuL = 0;
  private top = 0;
  private echoLow = 0;
  /** As it stood before the pulse under way, and before the last rise over the top of one; `ntu`: the reading before the pulse. */
  private before: Stood & { readonly ntu: number } = untouched;
  private beforeTop: Stood = untouched;
  private readonly fronts: Fronts;
  private readonly settings: LineSettings;

  constructor(settings: LineSettings) {
    this.settings = settings;
    this.fronts = new Fronts(settings.onsetEvidenceDue, settings.onsetEvidenceFree);
  }

  /** A new visit. */
  begin(): void {
    this.peakExcess = this.passedNtuL = 0;
    this.top = 0;
    this.before = this.beforeTop = untouched;
  }

  /** Some of it went by over the range. */
  unseen({ peakNtu, passedNtuL }: HiddenPulse): void {
    this.peakExcess = Math.max(this.peakExcess, peakNtu);
    this.passedNtuL += passedNtuL;
  }

  /** The line was blind or stood still. */
  restart(): void {
    this.fronts.restart();
  }

  /** One second; returns the front that it shows, if any. Pulses are written into `record`. */
  step(seen: Seen, loop: Loop, record: VisitRecord): Front | null {
    if (record.pulses.length > 0) this.passedNtuL += seen.excess * seen.litres;
    const front = this.look(seen, loop);
    if (front) {
      const { pulse } = record;
      // The second before a front is sure of can have carried the pulse before it over its top.
      const isOverTop = pulse !== null && (pulse.peakS ?? 0) >= front.onsetS;
      const { ntu } = levelAt(loop.series, loop.indexAt(front.onsetS), footS);
      this.before = { ...(isOverTop ? this.beforeTop : this.stood(loop)), ntu };
      // A rise that shows as two fronts is taken back as one.
      this.beforeTop = this.before;
      if (pulse) end(pulse, front.onsetS, loop);
      record.pulses.push({ ...front, peakS: null, peakNtu: null, endS: null, marked: seen.isDue });
      this.top = 0;
      loop.learn(front.onsetS, seen.isDue);
      loop.stretch = -1;
    }
    this.follow(seen, loop, record);
    return front;
  }

  private stood(loop: Loop): Stood {
    return { peakExcess: this.peakExcess, passedNtuL: this.passedNtuL, peak: loop.peak };
  }

  private look(seen: Seen, loop: Loop): Front | null {
    const k = loop.echo.kernel;
    // Only what the echo has risen by lately can be taken for a front.
    this.echoLow = k.now < this.echoLow ? k.now : this.echoLow + 0.05 * (k.now - this.echoLow);
    const unsure = Math.sqrt(k.shareVar) * (k.now - this.echoLow);
    const scatter = Math.max(
      Math.hypot(1.2 * seen.sd, 0.02 * seen.excess, unsure),
      seen.detectionNtu / 3,
      0.7 * seen.stepNtu,
    );
    return this.fronts.step(seen.timeS, seen.ntu - k.share * k.now, scatter, this.floor(loop), seen.isDue);
  }

  /** A rise up to the background as it was before is only the way back from a dip. */
  private floor(loop: Loop): number {
    return Math.max(loop.level, loop.background.ntu - Math.min(loop.background.sd, loop.quietSd));
  }

  private follow(seen: Seen, loop: Loop, record: VisitRecord): void {
    const { pulse } = record;
    if (!pulse) return;
    if (seen.ntu > this.top) {
      if (loop.stretch >= 0) this.beforeTop = this.stood(loop);
      this.top = seen.ntu;
      pulse.peakS = seen.timeS;
      pulse.peakNtu = seen.ntu;
      loop.peaked(seen.excess);
      loop.stretch = -1;
    }
    const peak = this.top - loop.level;
    if (peak > this.peakExcess) this.peakExcess = peak;
    const isStale = pulse.peakS !== null && seen.timeS - pulse.peakS > staleS;
    if (loop.stretch < 0 && (seen.excess < fallen * peak || isStale)) loop.stretch = loop.series.length - 1;
    if (loop.stretch < 0) return;
    const { clearNtu, clearShare } = this.settings;
    const isUnder = seen.excess < Math.max(clearNtu, clearShare * peak);
    const isBack = seen.ntu < this.before.ntu + gone * (this.top - this.before.ntu);
    const wasBurst = (isUnder || isBack) && isBurst({ onsetS: pulse.onsetS, endS: seen.timeS }, loop);
    if (wasBurst) this.leaveBurst(loop);
    // On a tail only a burst comes back so far while more than the limit stands.
    if (isUnder || wasBurst) pulse.endS = seen.timeS;
  }

  /** Bubbles are no dirt: their height must not raise the limit of the visit, nor count as what it has set free. */
  private leaveBurst(loop: Loop): void {
    const { peakExcess, passedNtuL, peak, ntu } = this.before;
    if (this.top - ntu < highBurst * this.settings.clearNtu) return;
    this.peakExcess = peakExcess;
    this.passedNtuL = passedNtuL;
    loop.peak = peak;
  }
}

/** An emitter cannot empty so fast: what was gone at once was bubbles. */
export function isBurst({ onsetS, endS }: Pick<Pulse, 'onsetS' | 'endS'>, loop: Loop): boolean {
  return endS !== null && loop.litresAt(endS) - loop.litresAt(onsetS) < leastPulse * loop.washoutL;
}

/** A front ends the pulse before: what rose from there on until the front was sure of is the next one's. */
function end(pulse: Open<Pulse>, onsetS: number, loop: Loop): void {
  pulse.endS = onsetS;
  if (pulse.peakS === null || pulse.peakS <= onsetS) return;
  const highest = highestOf(loop.series, loop.indexAt(pulse.onsetS), loop.indexAt(onsetS));
  pulse.peakS = highest?.timeS ?? null;
  pulse.peakNtu = highest?.ntu ?? null;
}

/** A pulse is on its tail when it has come down to this share of its peak, or has not risen for so long. */
const fallen = 0.6;
const staleS = 20;
/** A pulse of an emitter's water takes at least this share of its washout litres, and one that stood so many times over the limit
 * takes a whole one to fall under it. Chosen on simulated runs, no source. */
const leastPulse = 0.35;
const highBurst = 3;
/** Seconds before a front that tell what stood, and what of its height may be left of a burst that is gone. Chosen on simulated
 * runs, no source. */
const footS = 5;
const gone = 0.1;
