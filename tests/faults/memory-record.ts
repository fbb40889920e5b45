import type { Sample } from '../../src/core/quantity/sample.ts';
import type { NewEvent, RunHead, RunStore, StoredEvent } from '../../src/store/store.ts';

/**
 * A run's record in memory: the store's own tests break disks and processes; where thousands of runs are driven, its
 * transactions would cost more than all the rest. What was not flushed is lost with the power.
 */
export class MemoryRecord implements RunStore {
  readonly head: RunHead;
  readonly #links: StoredEvent[] = [];
  #samples: Sample[] = [];
  #late: Sample[] = [];
  #flushed = 0;
  #lateFlushed = 0;

  constructor(head: RunHead) {
    this.head = head;
  }

  /** What is left after a power cut. */
  cutPower(): void {
    this.#samples = this.#samples.slice(0, this.#flushed);
    this.#late = this.#late.slice(0, this.#lateFlushed);
  }

  appendEvent({ id, event, who, wallAt }: NewEvent): { stored: StoredEvent; doubled: boolean } {
    const known = this.#links.find((e) => e.id === id);
    if (known) return { stored: known, doubled: true };
    const stored = { index: this.#links.length, id, event, who, wallAt, prevHash: '', hash: '' };
    this.#links.push(stored);
    return { stored, doubled: false };
  }

  appendSample(sample: Sample): void {
    const lastS = this.#samples.at(-1)?.timeS ?? Number.NEGATIVE_INFINITY;
    if (!(sample.timeS > lastS)) throw new Error(`sample at ${sample.timeS} after ${lastS}`);
    this.#samples.push(sample);
  }

  appendLate(sample: Sample): void {
    this.#late.push(sample);
  }

  flush(): void {
    this.#flushed = this.#samples.length;
    this.#lateFlushed = this.#late.length;
  }

  keepSamples(): void {
    this.flush();
  }

  events(): StoredEvent[] {
    return [...this.#links];
  }

  linkCount(): number {
    return this.#links.length;
  }

  links(from: number, limit: number): StoredEvent[] {
    return this.#links.slice(from, from + limit);
  }

  chunkBody(): null {
    return null;
  }

  chunks(): [] {
    return [];
  }

  unkept(): null {
    return null;
  }

  unchained(): number {
    return this.#samples.length + this.#late.length;
  }

  samples(fromS = Number.NEGATIVE_INFINITY, toS = Number.POSITIVE_INFINITY): Sample[] {
    return this.#samples.filter((s) => s.timeS >= fromS && s.timeS <= toS);
  }

  late(fromS = Number.NEGATIVE_INFINITY, toS = Number.POSITIVE_INFINITY): Sample[] {
    return this.#late.filter((s) => s.timeS >= fromS && s.timeS <= toS);
  }

  lastTimeS(): number {
    return Math.max(0, this.#samples.at(-1)?.timeS ?? 0, ...this.#links.map((e) => e.event.timeS));
  }
}
