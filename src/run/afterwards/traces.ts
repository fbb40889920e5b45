import type { SampleKey } from '../../core/quantity/channels.ts';
import { sampleKeys } from '../../core/quantity/sample.ts';
import { type Columns, columnsOf } from '../../store/decimate.ts';
import type { RunStore } from '../../store/store.ts';

/** Runs whose samples are held ready for drawing; the least used goes first. An eight-hour run at 10 Hz takes 18 MB. */
export class Traces {
  readonly #held = new Map<string, { readonly lastS: number; readonly columns: Columns }>();
  readonly #runs: number;
  #drawn: { readonly runId: string; readonly count: number; readonly lastS: number; readonly columns: Columns } | null =
    null;

  constructor(runs = 4) {
    this.#runs = runs;
  }

  /** As `of`, with what came late in its place: for drawing, not for judging. */
  drawn(run: RunStore): Columns {
    const late = run.late();
    if (late.length === 0) return this.of(run);
    const { runId } = run.head;
    const known = this.#drawn;
    if (known?.runId === runId && known.count === late.length && known.lastS === run.lastTimeS()) return known.columns;
    const all = [...run.samples(), ...late].sort((a, b) => a.timeS - b.timeS);
    const columns = columnsOf(all);
    this.#drawn = { runId, count: late.length, lastS: run.lastTimeS(), columns };
    return columns;
  }

  /** All samples of a run. The one place where the office reads samples. */
  of(run: RunStore): Columns {
    const { runId } = run.head;
    const lastS = run.lastTimeS();
    const known = this.#held.get(runId);
    this.#held.delete(runId);
    const columns = known && known.lastS === lastS ? known.columns : columnsOf(run.samples());
    this.#held.set(runId, { lastS, columns });
    const oldest = this.#held.keys().next().value;
    if (this.#held.size > this.#runs && oldest !== undefined) this.#held.delete(oldest);
    return columns;
  }
}

/** Channels that hold a value anywhere. */
export function channelsWithValues(columns: Columns): SampleKey[] {
  return sampleKeys.filter((key) => columns.values[key].some((value) => !Number.isNaN(value)));
}
