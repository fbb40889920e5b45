import { signal } from '@preact/signals';
import type { ComponentChildren } from 'preact';
import { useEffect, useRef, useState } from 'preact/hooks';
import { sampleKeys } from '../../src/core/quantity/sample.ts';
import type { SampleKey } from '../../src/core/quantity/channels.ts';
import type { RunPage } from '../../src/core/audit/page-schema.ts';
import { watchGestures } from '../shared/gestures.ts';
import type { Span } from '../shared/plot-data.ts';
import { theme } from '../shared/theme.ts';
import { byKey, Tools, zoomed } from './chart-tools.tsx';
import { channelOf, createLane, type Lane } from './lanes.ts';
import { problem, sentence } from './model.ts';
import { place, stay } from './place.ts';
import { type Held, TraceFeed } from './trace-feed.ts';
import { clock, number } from './words.ts';

/** Narrower than this nobody needs. */
const leastS = 5;

/** A span inside the run, as wide as asked for where that fits. */
export function within(page: Pick<RunPage, 'toS'>, span: Span): Span {
  const widthS = Math.min(Math.max(leastS, span.toS - span.fromS), Math.max(leastS, page.toS));
  const fromS = Math.min(Math.max(0, span.fromS), Math.max(0, page.toS - widthS));
  return { fromS, toS: fromS + widthS };
}

export function viewOf(page: RunPage): Span {
  const { fromS, toS } = place.value;
  return within(page, { fromS: fromS ?? 0, toS: toS ?? page.toS });
}

/** The address follows a drag only now and then: browsers refuse too many changes. */
let addressTimer: ReturnType<typeof setTimeout> | undefined;
function keepInAddress(page: RunPage, view: Span): void {
  clearTimeout(addressTimer);
  addressTimer = setTimeout(() => {
    const isWhole = view.fromS <= 0 && view.toS >= page.toS - 1e-6;
    stay(isWhole ? { fromS: null, toS: null } : { fromS: view.fromS, toS: view.toS });
  }, 250);
}

class ChartOfRun {
  readonly #feed: TraceFeed;
  readonly #host: HTMLElement;
  readonly #viewed: (view: Span) => void;
  #page: RunPage;
  #keys: readonly SampleKey[] = [];
  #lanes: Lane[] = [];
  #focus: readonly Span[] = [];
  #shown: Held | null = null;
  #frame = 0;
  view: Span;

  constructor(host: HTMLElement, page: RunPage, view: Span, viewed: (view: Span) => void) {
    this.#host = host;
    this.#page = page;
    this.#viewed = viewed;
    this.view = view;
    const whole = { fromS: 0, toS: Math.max(leastS, page.toS) };
    this.#feed = new TraceFeed(
      page.run.runId,
      whole,
      () => this.#arrived(),
      (error) => {
        problem.value = sentence(error);
      },
    );
    this.#feed.look(view, this.#pixels);
  }

  get #pixels(): number {
    return Math.max(200, this.#host.clientWidth - 60);
  }

  /** What is known of the run came or changed, or other lanes are wanted, or evidence is looked at. */
  set(page: RunPage, keys: readonly SampleKey[], focus: readonly Span[]): void {
    this.#page = page;
    this.#focus = focus;
    if (keys.join() !== this.#keys.join()) {
      this.#keys = keys;
      this.#rebuild();
    } else this.restyle();
  }

  go(view: Span): void {
    this.view = within(this.#page, view);
    if (this.#frame === 0) this.#frame = requestAnimationFrame(() => this.#draw());
  }

  restyle(): void {
    for (const lane of this.#lanes) lane.chart.restyle();
  }

  timeAt(clientX: number): number {
    return this.#lanes[0]?.chart.timeAt(clientX) ?? 0;
  }

  /** Values of all lanes at the row that is nearest. */
  valuesAt(timeS: number): { readonly timeS: number; readonly values: readonly (number | null)[] } | null {
    const held = this.#feed.rows(this.view);
    if (held === null) return null;
    const { timeS: times, values } = held.rows;
    let [low, high] = [0, times.length - 1];
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if ((times[middle] ?? 0) <= timeS) low = middle;
      else high = middle;
    }
    const at = Math.abs((times[low] ?? 0) - timeS) <= Math.abs((times[high] ?? 0) - timeS) ? low : high;
    return { timeS: times[at] ?? timeS, values: this.#keys.map((key) => values[key]?.[at] ?? null) };
  }

  #arrived(): void {
    if (this.#lanes.length === 0) this.#rebuild();
    else {
      this.#shown = null;
      this.#draw();
    }
  }

  #rebuild(): void {
    for (const lane of this.#lanes) lane.chart.destroy();
    this.#lanes = [];
    if (this.#feed.overview === null) return;
    const drawn = () => ({ looked: this.#page.looked, focus: this.#focus });
    const hosts = [...this.#host.querySelectorAll<HTMLElement>('[data-lane]')];
    for (const [i, key] of this.#keys.entries()) {
      const host = hosts.find((h) => h.dataset['lane'] === key);
      if (host) this.#lanes.push(createLane(host, key, this.#feed.overview, i === this.#keys.length - 1, drawn));
    }
    this.#shown = null;
    this.#draw();
  }

  #draw(): void {
    cancelAnimationFrame(this.#frame);
    this.#frame = 0;
    this.#feed.look(this.view, this.#pixels);
    const held = this.#feed.rows(this.view);
    if (held === null) return;
    if (held === this.#shown) for (const lane of this.#lanes) lane.move(this.view);
    else for (const lane of this.#lanes) lane.show(held, this.view);
    this.#shown = held;
    this.#host.dataset['drawn'] = `${this.view.fromS.toFixed(2)} ${this.view.toS.toFixed(2)} ${held.rows.stepS}`;
    this.#viewed(this.view);
  }

  destroy(): void {
    cancelAnimationFrame(this.#frame);
    this.#feed.stop();
    for (const lane of this.#lanes) lane.chart.destroy();
  }
}

export function shownChannels(page: RunPage): SampleKey[] {
  const wanted = place.value.channels;
  return sampleKeys.filter((key) => page.channels.includes(key) && (wanted.length === 0 || wanted.includes(key)));
}

/** What the chart shows at this moment. Apart from the address, which follows a drag only when it rests. */
export const shownSpan = signal<Span | null>(null);

/** Run whose chart stands. */
export const drawnRun = signal('');

export interface RunChartProps {
  readonly page: RunPage;
  readonly focus: readonly Span[];
  /** Further tools beside those that move the chart. */
  readonly tools: ComponentChildren;
}

/** All traces of a run on one axis: drag, pinch, wheel, keys or buttons move and zoom it. */
export function RunChart({ page, focus, tools }: RunChartProps) {
  const host = useRef<HTMLDivElement>(null);
  const chart = useRef<ChartOfRun | null>(null);
  const [pointed, setPointed] = useState<{ readonly x: number; readonly timeS: number } | null>(null);
  const keys = shownChannels(page);
  const { fromS, toS } = place.value;
  useEffect(() => {
    const at = host.current;
    if (at === null) return undefined;
    const made = new ChartOfRun(at, page, viewOf(page), (view) => {
      shownSpan.value = view;
      drawnRun.value = page.run.runId;
      keepInAddress(page, view);
    });
    chart.current = made;
    const move = (by: number): void => {
      const widthS = made.view.toS - made.view.fromS;
      made.go({ fromS: made.view.fromS + by * widthS, toS: made.view.toS + by * widthS });
    };
    const stop = watchGestures(at, {
      tap: () => {},
      pan: (by) => move(-by * (at.clientWidth / Math.max(1, at.clientWidth - 60))),
      zoom: (factor, share) =>
        made.go(zoomed(made.view, factor, made.timeAt(at.getBoundingClientRect().left + share * at.clientWidth))),
    });
    const unwatch = theme.subscribe(() => made.restyle());
    return () => {
      stop();
      unwatch();
      made.destroy();
    };
  }, [page.run.runId]);
  useEffect(() => chart.current?.set(page, keys, focus), [page, keys.join(), focus]);
  useEffect(() => {
    const made = chart.current;
    const view = viewOf(page);
    if (made && (Math.abs(view.fromS - made.view.fromS) > 0.11 || Math.abs(view.toS - made.view.toS) > 0.11))
      made.go(view);
  }, [fromS, toS]);
  const act = (change: (view: Span) => Span): void => chart.current?.go(change(chart.current.view));
  const found = pointed === null ? null : (chart.current?.valuesAt(pointed.timeS) ?? null);
  return (
    <section class="chart" aria-label="Traces of the run">
      <Tools page={page} act={act} keys={keys}>
        {tools}
      </Tools>
      <div
        class="lanes"
        ref={host}
        // biome-ignore lint/a11y/noNoninteractiveTabindex: the arrow keys move the chart
        tabIndex={0}
        role="application"
        aria-label="Chart. Arrow keys move it, plus and minus zoom, Home shows the whole run."
        onKeyDown={(event) => {
          const done = byKey(event.key, page, act);
          if (done) event.preventDefault();
        }}
        onPointerMove={(event) => {
          if (event.buttons !== 0 || chart.current === null) return setPointed(null);
          const box = event.currentTarget.getBoundingClientRect();
          setPointed({ x: event.clientX - box.left, timeS: chart.current.timeAt(event.clientX) });
        }}
        onPointerLeave={() => setPointed(null)}
      >
        {keys.map((key, i) => (
          <div class={`lane is-${key}`} key={key}>
            <p class="lane-name">
              {channelOf(key)?.title}, {channelOf(key)?.unit}
              {found !== null && <b> {number(found.values[i] ?? null, key === 'pressureBar' ? 2 : 1)}</b>}
            </p>
            <div class={i === keys.length - 1 ? 'plot is-last' : 'plot'} data-lane={key} />
          </div>
        ))}
        {pointed !== null && <div class="pointed" style={{ left: `${pointed.x}px` }} aria-hidden="true" />}
      </div>
      <p class="quiet readout">
        {found === null
          ? 'Run clock in hours, minutes, seconds. Drag to move, wheel or pinch to zoom.'
          : `At ${clock(found.timeS)} of the run clock.`}
      </p>
    </section>
  );
}
