import { Envelope } from './envelope.ts';
import { unwrapUp } from './unwrap.ts';

/** Packs may overtake one another by this much; `up` going back further is a start. */
const reorderS = 5;
/** A pack that arrives this much before it can have been made shows that one of the clocks leapt. */
const earlyS = 0.25;
/** Half a minute of packs, all later than this, is a leap too, not a delay. */
const liftedS = 1;
/** Starts of which late packs can still be placed. */
const mostStarts = 8;
/** Two outputs are never closer than this. */
const leastStepS = 1e-6;
/** Part of a second per hundred bytes on a slow line, and the tick of an operating system: what is uncertain at best. */
const floorS = 0.002;

/**
 * Kit time (`up`) -> bridge time; one per kit. Offset and drift are taken from the packs that were delayed least, so
 * jitter and hold-ups of the link do not move the result. What stays unknown is the least delay of the link itself
 * (about 20 ms on a serial line at 115200): it is the same for all packs, and shifts them all alike.
 */
export class Aligner {
  readonly #starts = new Map<number, Envelope>();
  #envelope = new Envelope();
  #boot: number | null = null;
  #lastSentUpS = 0;
  #lastUpS = 0;
  #lastArrivalS = 0;
  #lastOutS = Number.NEGATIVE_INFINITY;
  #wrapS = 0;

  /** Standard uncertainty of the last results against one another, seconds. */
  get uncertaintyS(): number {
    return floorS + this.#envelope.scatterS;
  }

  /** Kit clock against bridge clock, e.g. 200e-6: the kit is slow by 200 parts in a million. 0 in the first minute. */
  get drift(): number {
    return this.#envelope.drift;
  }

  /** Can packs of this start be placed at their own time? Only when some came live. */
  knows(boot: number): boolean {
    return this.#starts.get(boot)?.known ?? false;
  }

  /**
   * @param boot the kit's start count.
   * @param upS seconds since the kit's start, by its clock.
   * @param arrivalS when the pack arrived, on the bridge's monotonic clock, seconds.
   * @param late the kit had kept this pack: it is placed in the past and teaches the clock nothing.
   * @returns when the pack was made, on the bridge's monotonic clock, seconds. Strictly increasing over packs that are in
   * order; one that is late gets its own place, at the arrival at the latest; one that was overtaken, before the newest.
   */
  align(boot: number, upS: number, arrivalS: number, late = false): number {
    if (late && boot !== this.#boot) return this.#placeKept(this.#starts.get(boot), upS, arrivalS);
    if (late) return this.#placeKept(this.#envelope, upS + this.#wrapS, arrivalS);
    const up = this.#continue(boot, upS, arrivalS);
    if (up < this.#lastUpS) return this.#placeOld(this.#envelope, up, arrivalS);
    this.#learn(up, arrivalS);
    const out = this.#inOrder(up, arrivalS);
    this.#lastSentUpS = upS;
    this.#lastUpS = up;
    this.#lastArrivalS = Math.max(arrivalS, this.#lastArrivalS);
    this.#lastOutS = out;
    return out;
  }

  /**
   * The next pack's `up` lies `backS` behind that of one made before it, as the kit's numbers tell. So little that it might
   * have been overtaken is a leap of the kit's clock then; more is told from a running over by `align` itself.
   */
  leapt(backS: number): void {
    if (backS <= reorderS) this.#boot = null;
  }

  /** `up` without its wraps; begins anew when the kit did. */
  #continue(boot: number, upS: number, arrivalS: number): number {
    if (boot !== this.#boot) return this.#begin(boot, upS);
    if (upS >= this.#lastSentUpS - reorderS) return upS + this.#wrapS;
    const wrap = unwrapUp(this.#lastSentUpS, upS, arrivalS - this.#lastArrivalS);
    if (wrap === null) return this.#begin(boot, upS);
    this.#wrapS += wrap;
    return upS + this.#wrapS;
  }

  #begin(boot: number, upS: number): number {
    this.#boot = boot;
    this.#wrapS = 0;
    this.#renew();
    this.#lastUpS = upS;
    return upS;
  }

  #renew(): void {
    this.#envelope = new Envelope();
    if (this.#boot === null) return;
    this.#starts.delete(this.#boot);
    this.#starts.set(this.#boot, this.#envelope);
    for (const key of this.#starts.keys()) {
      if (this.#starts.size <= mostStarts) break;
      this.#starts.delete(key);
    }
  }

  #learn(up: number, arrivalS: number): void {
    const offset = arrivalS - up;
    const { known } = this.#envelope;
    // What a broker had kept comes all at once: its delay is a delay, and says nothing of the clocks.
    const isBurst = arrivalS - this.#lastArrivalS < (up - this.#lastUpS) / 2;
    if (known && isBurst && offset - this.#envelope.offsetAt(up) > earlyS) return;
    if (known && (offset - this.#envelope.offsetAt(up) < -earlyS || this.#envelope.liftedBy(liftedS))) this.#renew();
    this.#envelope.add(up, offset);
  }

  #inOrder(up: number, arrivalS: number): number {
    const made = up + this.#envelope.offsetAt(up);
    const soonest = this.#lastOutS + Math.max((up - this.#lastUpS) / 2, leastStepS);
    return Math.min(Math.max(made, soonest), Math.max(arrivalS, this.#lastOutS + leastStepS));
  }

  #newestS(arrivalS: number): number {
    return this.#lastOutS > Number.NEGATIVE_INFINITY ? this.#lastOutS - leastStepS : arrivalS;
  }

  #placeOld(envelope: Envelope, up: number, arrivalS: number): number {
    return Math.min(up + envelope.offsetAt(up), this.#newestS(arrivalS));
  }

  /**
   * Made while the link was away, so perhaps after all that came before. A start that was never seen live has no place
   * of its own (`knows`): its packs stand just before the newest.
   */
  #placeKept(envelope: Envelope | undefined, up: number, arrivalS: number): number {
    return envelope?.known ? Math.min(up + envelope.offsetAt(up), arrivalS) : this.#newestS(arrivalS);
  }
}
