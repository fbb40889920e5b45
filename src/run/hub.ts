import { type Message, say } from '../core/message/message.ts';
import { Problem } from '../core/message/problem.ts';
import type { BrokerAt } from '../hub/broker-line.ts';
import { Collector, type CollectorCounters } from '../hub/collector.ts';
import { Keeper } from '../hub/keeper.ts';
import { type SeriesAt, type SeriesCounters, SeriesWriter } from '../hub/timeseries.ts';
import { Arrivals, type SetAside } from '../store/arrivals.ts';
import { decodeChunk } from '../store/chunk.ts';
import { openStore } from '../store/open.ts';
import { sha256 } from '../store/rows.ts';
import type { Store } from '../store/store.ts';
import type { RunClock } from './clock.ts';
import { firmStore } from './firm-store.ts';
import { inboxOf, isOfTheData, waitingParts } from './hub-rooms.ts';

export interface HubConfig {
  readonly broker: Omit<BrokerAt, 'clientId'>;
  /** Null: samples go into the firm's store only. */
  readonly series: SeriesAt | null;
  readonly data: string;
  /** Tells the hub processes of a firm apart at the broker; each needs its own. */
  readonly name: string;
}

export interface HubListener {
  /** This process has the firm's store from now on. */
  readonly keeps: (store: Store) => void;
}

export interface HubState {
  readonly joined: boolean;
  /** This process puts what came in its place; one of a machine's does. */
  readonly keeps: boolean;
  readonly collected: CollectorCounters;
  readonly series: SeriesCounters | null;
  readonly waiting: { readonly links: number; readonly unplaced: number; readonly unwritten: number };
  readonly problems: readonly Message[];
}

export interface Hub {
  state(): HubState;
  aside(): SetAside[];
  /** The firm's store, while this process holds it. */
  store(): Store | null;
  stop(): Promise<void>;
}

const keepEveryS = 0.25;
const lockAgainS = 5;

/** One hub process: collects, writes the time series, and keeps the firm's store when no other process does. */
export async function startHub(
  config: HubConfig,
  clock: RunClock,
  log: (line: string) => void,
  listener?: HubListener,
): Promise<Hub> {
  const arrivals = new Arrivals(config.data, () => clock.wallMs());
  const problems = new Problems(log);
  const collector = new Collector({
    broker: { ...config.broker, clientId: `limpid-hub-${config.name}` },
    inbox: inboxOf(arrivals),
    hash: sha256,
    took: () => undefined,
    told: (problem) => problems.tell('broker', problem),
    clock,
  });
  const series = config.series
    ? new SeriesWriter(
        config.series,
        arrivals,
        decodeChunk,
        (problem) => problems.tell('series', problem),
        () => clock.nowS(),
      )
    : null;
  let store: Store | null = null;
  let keeper: Keeper | null = null;
  let lockAtS = 0;
  let isTakenOver = false;
  const takeStore = (): void => {
    if (store || clock.nowS() < lockAtS) return;
    lockAtS = clock.nowS() + lockAgainS;
    try {
      store = openStore(config.data);
      keeper = new Keeper(
        waitingParts(arrivals),
        firmStore(store, config.data),
        (rig, have) => collector.tellHave(rig, have),
        (error) => (isOfTheData(error) ? { code: error.code, params: error.params } : null),
      );
      isTakenOver = true;
      problems.tell('store', null);
      listener?.keeps(store);
    } catch (error) {
      if (!(error instanceof Problem)) throw error;
      const busy = error.code === 'store-in-use';
      problems.tell('store', busy ? { code: 'hub-busy', params: error.params } : error);
    }
  };
  const keep = (): void => {
    takeStore();
    try {
      if (isTakenOver) arrivals.lookAgain();
      isTakenOver = false;
      keeper?.work();
      if (keeper) problems.tell('keep', null);
    } catch (error) {
      problems.tell('keep', { code: 'hub-not-kept', params: { detail: error instanceof Error ? error.message : '' } });
    }
  };
  takeStore();
  await collector.start();
  const stopKeep = clock.every(keepEveryS, keep);
  const stopSeries = clock.every(keepEveryS, () => void series?.work().catch(() => undefined));
  return {
    state: () => ({
      joined: collector.isJoined,
      keeps: keeper !== null,
      collected: collector.counters,
      series: series?.counters ?? null,
      waiting: arrivals.waiting(),
      problems: problems.standing(),
    }),
    aside: () => arrivals.aside(),
    store: () => store,
    async stop() {
      stopKeep();
      stopSeries();
      await collector.stop();
      keep();
      await series?.work();
      store?.close();
      arrivals.close();
    },
  };
}

/** What is wrong now, by place; a change is told once. */
class Problems {
  readonly #standing = new Map<string, Message>();
  readonly #log: (line: string) => void;

  constructor(log: (line: string) => void) {
    this.#log = log;
  }

  tell(place: string, problem: Message | null): void {
    const known = this.#standing.get(place);
    if (problem === null) {
      if (known && this.#standing.delete(place)) this.#log(`Mended: ${known.code}.`);
      return;
    }
    this.#standing.set(place, { code: problem.code, params: problem.params });
    // The same trouble for another reason is news, too.
    if (known?.code !== problem.code || known.params['detail'] !== problem.params['detail']) this.#log(say(problem));
  }

  standing(): Message[] {
    return [...this.#standing.values()];
  }
}
