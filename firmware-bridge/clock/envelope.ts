/** A point of the delay plot: kit time, and arrival minus kit time (offset plus drift plus a delay that is never negative). */
interface Point {
  readonly upS: number;
  readonly offsetS: number;
}

/** Least offsets are kept one per bin of kit time. */
const binS = 10;
/** Twenty minutes: long against jitter, short against the warming of a crystal. */
const mostBins = 120;
/** Below this span a slope says more of jitter than of the crystal. */
const leastSpanS = 60;
/** No crystal is off by more; a ceramic resonator of the cheapest kind reaches half of it (common practice, no source). */
const mostDrift = 0.01;

/**
 * Lower envelope of arrival minus kit time. Delay only ever adds, so the truth lies along the points that were delayed
 * least: of all lines that no point lies below, the one with the least sum of distances, which is the edge of the lower
 * convex hull under the mean of the times (Moon, Skelly, Towsley: Estimation and removal of clock skew from network
 * delay measurements, INFOCOM 1999). Late arrivals, however many, do not move it.
 */
export class Envelope {
  readonly #bins: Point[] = [];
  #binAt = Number.NEGATIVE_INFINITY;
  #slope = 0;
  #atUpS = 0;
  #atOffsetS = 0;
  #excessS = 0;

  get known(): boolean {
    return this.#bins.length > 0;
  }

  /** Offset expected for a pack of this kit time, seconds. */
  offsetAt(upS: number): number {
    return this.#atOffsetS + this.#slope * (upS - this.#atUpS);
  }

  /** Kit clock against bridge clock: 200e-6 means that the kit runs slow by 200 parts in a million. */
  get drift(): number {
    return this.#slope;
  }

  /** How far the least delayed packs of a bin scatter about the line, seconds. */
  get scatterS(): number {
    return this.#excessS;
  }

  /** True when the newest bins, each by its least delayed pack, all lie more than `byS` above the line. */
  liftedBy(byS: number): boolean {
    const newest = this.#bins.slice(-4, -1);
    return newest.length === 3 && newest.every((p) => p.offsetS - this.offsetAt(p.upS) > byS);
  }

  add(upS: number, offsetS: number): void {
    const last = this.#bins[this.#bins.length - 1];
    if (!last || upS - this.#binAt >= binS || upS < this.#binAt) {
      this.#bins.push({ upS, offsetS });
      this.#binAt = upS;
      if (this.#bins.length > mostBins) this.#bins.shift();
      this.#fit();
      return;
    }
    if (offsetS >= last.offsetS) return;
    this.#bins[this.#bins.length - 1] = { upS, offsetS };
    // Between bins the line changes only by a point under it; while it has no slope yet, it is that point.
    if (offsetS >= this.offsetAt(upS)) return;
    if (this.#spanS() >= leastSpanS) this.#fit();
    else this.#anchor({ upS, offsetS });
  }

  #spanS(): number {
    return (this.#bins[this.#bins.length - 1]?.upS ?? 0) - (this.#bins[0]?.upS ?? 0);
  }

  #anchor(point: Point): void {
    this.#slope = 0;
    this.#atUpS = point.upS;
    this.#atOffsetS = point.offsetS;
  }

  #fit(): void {
    const bins = this.#bins;
    if (this.#spanS() >= leastSpanS) this.#line(bins);
    else this.#anchor(bins.reduce((a, b) => (b.offsetS < a.offsetS ? b : a)));
    const over = bins.map((p) => p.offsetS - this.offsetAt(p.upS)).sort((a, b) => a - b);
    this.#excessS = over[over.length >> 1] ?? 0;
  }

  #line(bins: readonly Point[]): void {
    const hull: Point[] = [];
    for (const p of bins) {
      for (;;) {
        const b = hull[hull.length - 1];
        const a = hull[hull.length - 2];
        if (!a || !b || cross(a, b, p) > 0) break;
        hull.pop();
      }
      hull.push(p);
    }
    const mean = bins.reduce((sum, p) => sum + p.upS, 0) / bins.length;
    const right = hull.findIndex((p) => p.upS > mean);
    const a = hull[right - 1];
    const b = hull[right];
    if (!a || !b) return;
    this.#slope = Math.min(mostDrift, Math.max(-mostDrift, (b.offsetS - a.offsetS) / (b.upS - a.upS)));
    this.#atUpS = a.upS;
    this.#atOffsetS = a.offsetS;
  }
}

function cross(a: Point, b: Point, p: Point): number {
  return (b.upS - a.upS) * (p.offsetS - a.offsetS) - (p.upS - a.upS) * (b.offsetS - a.offsetS);
}
