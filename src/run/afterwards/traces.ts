import type { SampleKey } from '../../core/quantity/channels.ts';
import { sampleKeys } from '../../core/quantity/sample.ts';
import { type Columns, columnsOf } from '../../store/decimate.ts';
import type { RunStore } from '../../store/store.ts';

/** Runs whose samples are held ready for drawing; the least used goes first. An eight-hour run at 10 Hz takes 18 MB. */
export class Traces {
  readonly #held = new Map<string, { readonly lastS: number; readonly columns: Columns }>();
  readonly #runs: number;

  constructor(runs = 4) {
    this.#runs = runs;
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
