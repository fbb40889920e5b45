import type { DrawnSpanView } from '../../src/core/audit/page-schema.ts';
import type { Span } from '../shared/plot-data.ts';
import { bridge } from './client.ts';

/** Rows that are here, and over which span. */
export interface Held {
  readonly span: Span;
  readonly rows: DrawnSpanView;
}

/** More than the screen shows is fetched on either side, so that a chart can be dragged without waiting. */
const margin = 1;
/** Rows may be this much coarser than the screen before finer ones are fetched. */
const coarse = 1.6;
const earlyBuckets = 1200;

/**
 * Rows of one run for the chart, decimated by the bridge to about one bucket a pixel: the whole run at first, then what
 * is looked at, finer, with a margin.
 */
export class TraceFeed {
  /** Asked for as soon as the run is known by name, before anything else of it came. */
  static readonly #early = new Map<string, Promise<DrawnSpanView>>();

  static askEarly(runId: string): void {
    if (TraceFeed.#early.has(runId)) return;
    const asked = bridge.trace(runId, 0, 1e9, earlyBuckets);
    // Whoever takes it up tells what went wrong.
    asked.catch(() => {});
    TraceFeed.#early.set(runId, asked);
  }

  readonly #runId: string;
  readonly #whole: Span;
  readonly #changed: () => void;
  readonly #failed: (error: unknown) => void;
  #overview: Held | null = null;
  #detail: Held | null = null;
  #asking: { readonly span: Span; readonly stop: AbortController } | null = null;

  constructor(runId: string, whole: Span, changed: () => void, failed: (error: unknown) => void) {
    this.#runId = runId;
    this.#whole = whole;
    this.#changed = changed;
    this.#failed = failed;
  }

  /** The finest rows that cover the view; null while nothing came yet. */
  rows(view: Span): Held | null {
    return this.#detail !== null && covers(this.#detail.span, view) ? this.#detail : this.#overview;
  }

  get overview(): Held | null {
    return this.#overview;
  }

  /** The chart shows this now, over so many pixels: what is missing is fetched. */
  look(view: Span, pixels: number): void {
    if (this.#overview === null) {
      if (this.#asking === null) void this.#fetch(this.#whole, Math.max(600, pixels), true);
      return;
    }
    const rows = this.rows(view);
    const widthS = view.toS - view.fromS;
    const isFine =
      rows !== null && (rows.rows.stepS === 0 || rows.rows.stepS <= (coarse * widthS) / Math.max(1, pixels));
    if (rows !== null && isFine && (rows === this.#overview || !this.#nearEdge(view))) return;
    const span = {
      fromS: Math.max(this.#whole.fromS, view.fromS - margin * widthS),
      toS: Math.min(this.#whole.toS, view.toS + margin * widthS),
    };
    if (this.#asking !== null && covers(this.#asking.span, view)) return;
    this.#asking?.stop.abort();
    void this.#fetch(span, Math.ceil((pixels * (span.toS - span.fromS)) / widthS), false);
  }

  /** Less than a third of a screen is left on a side where the run goes on. */
  #nearEdge(view: Span): boolean {
    const held = this.#detail?.span;
    if (!held) return true;
    const third = (view.toS - view.fromS) / 3;
    const left = held.fromS > this.#whole.fromS && view.fromS - held.fromS < third;
    const right = held.toS < this.#whole.toS && held.toS - view.toS < third;
    return left || right;
  }

  async #fetch(span: Span, buckets: number, isOverview: boolean): Promise<void> {
    const stop = new AbortController();
    const asking = { span, stop };
    this.#asking = asking;
    try {
      const early = isOverview ? TraceFeed.#early.get(this.#runId) : undefined;
      TraceFeed.#early.delete(this.#runId);
      const asked = early ?? bridge.trace(this.#runId, span.fromS, span.toS, Math.min(20_000, buckets), stop.signal);
      const rows = await asked;
      if (stop.signal.aborted) return;
      if (isOverview) this.#overview = { span, rows };
      else this.#detail = { span, rows };
      if (this.#asking === asking) this.#asking = null;
      this.#changed();
    } catch (error) {
      if (this.#asking === asking) this.#asking = null;
      if (!(error instanceof DOMException && error.name === 'AbortError')) this.#failed(error);
    }
  }

  stop(): void {
    this.#asking?.stop.abort();
  }
}

function covers(outer: Span, inner: Span): boolean {
  return outer.fromS <= inner.fromS + 1e-6 && outer.toS >= inner.toS - 1e-6;
}
