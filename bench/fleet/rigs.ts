// The rigs of bench/fleet, in a process of their own: each with its own connection, its own chain and the very outbox and
// publisher of a bridge; only the record behind them is made on the spot.
import { createHash } from 'node:crypto';
import { parseArgs } from 'node:util';
import { emptySample } from '../../src/core/quantity/sample.ts';
import { genesisHash, type Link, nextLink } from '../../src/core/seal/chain.ts';
import { Outbox, type OutboxRun } from '../../src/hub/outbox.ts';
import { Publisher } from '../../src/hub/publisher.ts';
import { machineClock } from '../../src/run/clock.ts';
import { encodeChunk } from '../../src/store/chunk.ts';

const { values: args } = parseArgs({
  options: { url: { type: 'string' }, rigs: { type: 'string' }, minutes: { type: 'string' } },
});
const rigs = Number(args.rigs);
const minutes = Number(args.minutes);
const sha256 = (data: string | Uint8Array): string => createHash('sha256').update(data).digest('hex');
const hz = 10;
const rowsOfChunk = 60 * hz;
const startedAt = '2026-01-02T03:04:00.000Z';

/** A minute of a rig: six channels at 10 Hz, with noise, so that it packs as real readings do. */
function chunkOf(rig: number, minute: number): Uint8Array {
  let seed = (rig * 7919 + minute * 104_729 + 1) >>> 0;
  const noise = (): number => {
    seed = (Math.imul(seed, 1_664_525) + 1_013_904_223) >>> 0;
    return seed / 2 ** 32 - 0.5;
  };
  const round = (value: number, decimals: number): number => Math.round(value * 10 ** decimals) / 10 ** decimals;
  return encodeChunk(
    Array.from({ length: rowsOfChunk }, (_, i) => ({
      ...emptySample(round(minute * 60 + i / hz, 1)),
      turbidityNtu: round(40 + 30 * Math.sin(i / 90) + noise(), 1),
      flowLpm: round(9 + noise() / 5, 2),
      pressureBar: round(1 + noise() / 50, 3),
      supplyC: round(52 + noise() / 4, 2),
      returnC: round(44 + noise() / 4, 2),
      conductivityUsCm: round(650 + 4 * noise(), 0),
    })),
  );
}

class MadeRun implements OutboxRun {
  readonly head;
  readonly startedAt = startedAt;
  readonly #rig: number;
  readonly #links: Link[] = [];

  constructor(rig: number) {
    this.#rig = rig;
    const runId = `fleet-${rig}`;
    this.head = {
      runId,
      title: runId,
      simulated: true,
      startedAt,
      context: {
        emitters: [],
        loop_volume_l: 90,
        return_volume_l: 6,
        mains: { turbidity_ntu: 0.5, conductivity_us_cm: 400 },
        sample_hz: hz,
      },
    };
  }

  /** A minute went by: its samples are kept, and a pass was told. */
  minute(minute: number): void {
    const timeS = (minute + 1) * 60;
    this.#add('agitate-end', timeS - 20, {});
    const data = {
      chunk: minute,
      fromS: minute * 60,
      toS: timeS - 0.1,
      count: rowsOfChunk,
      sha256: sha256(chunkOf(this.#rig, minute)),
    };
    this.#add('samples-kept', timeS - 0.1, data);
  }

  #add(event: string, timeS: number, data: unknown): void {
    const index = this.#links.length;
    const prevHash = this.#links.at(-1)?.hash ?? genesisHash(this.head, sha256);
    const what = { timeS, event, emitter: '', note: '', data };
    this.#links.push(
      nextLink(index, prevHash, { id: `e${index}`, event: what, who: 'bench', wallAt: startedAt }, sha256),
    );
  }

  count = (): number => this.#links.length;
  links = (from: number, limit: number): readonly Link[] => this.#links.slice(from, from + limit);
  chunk = (minute: number): Uint8Array => chunkOf(this.#rig, minute);
  record = (): null => null;

  chunkOf(link: Link): { chunk: number; sha256: string } | null {
    const event = link.event;
    if (typeof event !== 'object' || event === null || !('event' in event) || event.event !== 'samples-kept')
      return null;
    const index = link.index;
    // Every second entry closes a minute.
    const minute = (index - 1) / 2;
    return { chunk: minute, sha256: sha256(chunkOf(this.#rig, minute)) };
  }
}

const clock = machineClock();
const fleet = await Promise.all(
  Array.from({ length: rigs }, async (_, rig) => {
    const run = new MadeRun(rig);
    const outbox = new Outbox({ runIds: () => [`fleet-${rig}`], run: () => run }, {});
    const broker = { url: args.url ?? '', user: null, password: null, clientId: `fleet-${rig}` };
    const publisher = new Publisher({
      broker,
      rig: `rig-${rig}`,
      outbox,
      clock,
      confirmed: () => undefined,
      told: () => undefined,
    });
    await publisher.start();
    return { run, outbox, publisher };
  }),
);

/** Rigs did not start together: each closes its minute at its own second. */
const beganS = clock.nowS();
const ownS = (rig: number): number => (rig / rigs) * 60;
const done = new Array<number>(rigs).fill(0);
const stopMinutes = clock.every(0.1, () => {
  for (const [rig, { run }] of fleet.entries()) {
    const minute = done[rig] ?? 0;
    if (minute < minutes && clock.nowS() - beganS >= (minute + 1) * 60 - 60 + ownS(rig)) {
      run.minute(minute);
      done[rig] = minute + 1;
    }
  }
});
const say = (): void => {
  const waiting = fleet.reduce((sum, { outbox }) => sum + outbox.waiting(), 0);
  const made = fleet.reduce((sum, { run }) => sum + run.count(), 0);
  const { user, system } = process.cpuUsage();
  const line = {
    atS: clock.nowS() - beganS,
    made,
    waiting,
    cpuS: (user + system) / 1e6,
    rss: process.memoryUsage.rss(),
  };
  process.stdout.write(`${JSON.stringify(line)}\n`);
  if (made === rigs * minutes * 2 && waiting === 0) {
    stopMinutes();
    void Promise.all(fleet.map(({ publisher }) => publisher.stop())).then(() => process.exit(0));
  }
};
clock.every(2, say);
