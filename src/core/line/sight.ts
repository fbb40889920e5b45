import type { Fault } from '../signal/validity.ts';
import { Ceiling } from './ceiling.ts';
import { type Climb, filmClimb, perMin } from './film.ts';
import { Foldback } from './foldback.ts';
import { Hidden, type HiddenPulse, tailFold } from './hidden.ts';
import type { Loop } from './loop.ts';
import type { Passes } from './passes.ts';
import type { LineSettings } from './settings.ts';

/** Why nothing can be told now: a fault of the reading itself, or one that only the line's own past shows. */
export type Blindness = Fault | 'folded' | 'fouling' | 'other-kit' | 'restarted';

/**
 * Whether the reading may be believed, by what the line knows of its past: it may have folded back, or a film may grow on the
 * window, or another kit may have begun to read.
 */
export class Sight {
  /** Climb of the film that is growing, NTU; 0: none. */
  private filmNtu = 0;
  /** A straight climb seen in this second that is to be told, though it may be too small to refuse a verdict for; null: none. */
  climb: Climb | null = null;
  private isOtherKit = false;
  private readonly ceiling = new Ceiling();
  private readonly foldback = new Foldback();
  private readonly hidden = new Hidden();
  private readonly settings: LineSettings;

  constructor(settings: LineSettings) {
    this.settings = settings;
  }

  /** A visit begins, or a pass: what another kit reads from here on is held against its own readings. */
  begin(): void {
    this.isOtherKit = false;
  }

  /** Another kit reads from now on: its zero and its place are others. */
  otherKit(): void {
    this.isOtherKit = true;
  }

  /** One second of a visit; `none` where the reading may be believed. */
  step(timeS: number, ntu: number, fault: Fault, passes: Passes, limitNtu: number, loop: Loop): Blindness {
    this.climb = null;
    const isAtTop = fault === 'none' && Number.isFinite(ntu) && this.ceiling.step(ntu);
    const isFolded = this.foldback.step(loop.litres, ntu, isAtTop || fault === 'over-range', loop.washoutL);
    if (isFolded) this.hidden.over(loop.litres);
    if (fault !== 'none') return fault;
    if (isAtTop) return 'over-range';
    if (!Number.isFinite(ntu)) return 'none';
    if (isFolded) return 'folded';
    if (timeS % filmEveryS === 0) this.lookForFilm(timeS, passes.quietS(timeS), limitNtu, loop);
    if (this.filmNtu > 0) return 'fouling';
    return this.isOtherKit ? 'other-kit' : 'none';
  }

  /** In a second that can be believed: what went by over the range just before, or null. */
  back(loop: Loop, excessNtu: number, releasedL: number, onsetS: number | undefined): HiddenPulse | null {
    if (!this.hidden.isPending) return null;
    const tailL = tailFold(loop.series, loop.level);
    const onsetL = onsetS === undefined ? Number.NaN : loop.litresAt(onsetS);
    return this.hidden.back(loop.litres, excessNtu, loop.washoutL, tailL, releasedL, onsetL);
  }

  private lookForFilm(timeS: number, quietS: number, limitNtu: number, loop: Loop): void {
    const { filmS, clearNtu } = this.settings;
    const { kernel } = loop.echo;
    const climb = filmClimb(loop.series, kernel.values, kernel.share, filmS, quietS);
    const isSure = climb !== null && climb.spanS > filmS && climb.ntu > Math.max(clearNtu, drifting * climb.fromNtu);
    this.climb = isSure && perMin(climb) < steepNtuPerMin && !hasSunk(loop, quietS) ? climb : null;
    if (climb && climb.ntu > limitNtu) this.filmNtu = Math.max(this.filmNtu, climb.ntu);
    else if (this.filmNtu > 0) {
      // How much of what stands is film nobody knows afterwards.
      loop.background.doubt(timeS, this.filmNtu);
      this.filmNtu = 0;
    }
  }
}

/** Whether less flows in the last third of `spanS` seconds than in the first: then the chambers fill up, and that is told for itself. */
function hasSunk({ series, hasFlow }: Loop, spanS: number): boolean {
  const to = series.length - 1;
  const third = Math.floor(Math.min(spanS, to - series.first) / 3);
  const litres = (end: number): number => series.get(series.litres, end) - series.get(series.litres, end - third);
  return hasFlow && litres(to) < sunkShare * litres(to - 2 * third);
}

/** A flow wanders by less than this leaves. Chosen on simulated runs, no source. */
const sunkShare = 0.94;
/** A background may drift by this share of it within minutes (as `backgroundDriftShare`, three standard deviations). */
const drifting = 0.1;
/** What climbs faster is rather the dirt of an untold pass. Chosen on simulated runs, no source. */
const steepNtuPerMin = 20;
/** How often it is asked whether a film grows, s. */
const filmEveryS = 5;
