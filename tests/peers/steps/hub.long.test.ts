import { cpSync, mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, describe, expect, test } from 'vitest';
import { sealOf } from '../../../src/recording/sealed.ts';
import { machineClock } from '../../../src/run/clock.ts';
import { startHub } from '../../../src/run/hub.ts';
import { openStore } from '../../../src/store/open.ts';
import { until } from '../../contracts/transport-clocks.ts';
import { difference, none } from '../firm/difference.ts';
import { type Rig, rig } from '../firm/rig.ts';
import { hasServer, influxd } from '../firm/series.ts';
import { hasMosquitto, mosquitto } from '../mosquitto/broker.ts';
import { startWork } from './die.ts';
import { Firm, placeOf } from './firm.ts';

const ends: (() => unknown)[] = [];
afterEach(async () => {
  for (const end of ends.splice(0).reverse()) await end();
});

async function firm(): Promise<Firm> {
  const [broker, series] = [await mosquitto(), await influxd()];
  const root = mkdtempSync(join(tmpdir(), 'limpid-hub-steps-'));
  ends.push(
    () => broker.dispose(),
    () => series.dispose(),
    () => rmSync(root, { recursive: true, force: true }),
  );
  const made = new Firm(root, broker, series);
  ends.push(async () => {
    for (const end of made.ends) await end();
  });
  return made;
}

const isKept = (one: Rig): boolean => placeOf(one.folder)[one.runId]?.record === 'kept';

describe.skipIf(!hasMosquitto() || !hasServer('influxd', 'influxdb'))('a kill before each step', () => {
  test('of a hub, each kind of step in its turn: the firm has what the rigs have, once', async () => {
    // What a hub does with a rig's run, from an empty folder to the sealed record.
    const trial = await firm();
    const first = trial.hub(null);
    const one = await trial.another();
    await until('the record is kept', () => isKept(one), 60);
    await new Promise((resolve) => setTimeout(resolve, 1500));
    first.child.kill('SIGTERM');
    const watched = await first.ended;
    expect(watched?.unsynced).toEqual([]);
    const kinds = [...new Set(watched?.steps)];
    expect(kinds.length).toBeGreaterThan(25);

    const made = await firm();
    let deaths = 0;
    const spared: string[] = [];
    // In the order in which they first come, so that what is done once in the life of a folder is still to do.
    for (const before of kinds) {
      const hub = made.hub({ before, nth: 1 });
      let isDead = false;
      const ended = hub.ended.then((left) => {
        isDead = left === null;
      });
      const next = await made.another();
      await until(`it dies before: ${before}`, () => isDead || isKept(next), 60).catch(() => undefined);
      if (isDead) deaths += 1;
      else {
        spared.push(before);
        hub.child.kill('SIGTERM');
      }
      await ended;
      expect(made.wrong()).toEqual([]);
    }
    const last = made.hub(null);
    await until('every record is kept', () => made.rigs.every(isKept), 400);
    let rows = 0;
    let expected = 0;
    for (const { name, run } of made.rigs) {
      const samples = [...run.samples()].length;
      expected += samples;
      const endAt = Date.now() + 180_000;
      let found = -1;
      while (found !== samples && Date.now() < endAt) {
        found = await made.series.rows(name).catch(() => -1);
        await new Promise((resolve) => setTimeout(resolve, 300));
      }
      expect(found).toBe(samples);
      rows += found;
    }
    last.child.kill('SIGTERM');
    await last.ended;
    expect(made.wrong()).toEqual([]);
    const store = openStore(made.data);
    for (const { runId, run } of made.rigs) {
      expect(difference(store.openRun(runId), run)).toEqual(none);
      expect(sealOf(made.data, runId)?.state).toBe('good');
    }
    expect(store.runCount()).toBe(made.rigs.length);
    store.close();
    console.log(
      `a hub killed before ${deaths} kinds of steps; lost 0 of ${made.rigs.length} runs, ${expected - rows} of ${expected} rows; not met again: ${spared.join('; ')}`,
    );
    expect(deaths).toBeGreaterThan(25);
  }, 890_000);

  test('of a hub that looks at a record: the next one goes on from its own disk, with no rig there', async () => {
    const made = await firm();
    const dying = made.hub({ before: 'rename sealed/', nth: 1 });
    const one = await made.another();
    expect(await dying.ended).toBe(null);
    await one.leave();
    const next = made.hub(null);
    await until('the record is there', () => sealOf(made.data, one.runId)?.state === 'good', 60);
    next.child.kill('SIGTERM');
    await next.ended;
    const store = openStore(made.data);
    expect(difference(store.openRun(one.runId), one.run)).toEqual(none);
    store.close();
  });

  test('of a rig that keeps its place: never half, never ahead of the firm', async () => {
    const broker = await mosquitto();
    ends.push(() => broker.dispose());
    const root = mkdtempSync(join(tmpdir(), 'limpid-place-steps-'));
    ends.push(() => rmSync(root, { recursive: true, force: true }));
    const firmData = join(root, 'firm');
    const hub = await startHub(
      { broker: { url: broker.url, user: null, password: null }, series: null, data: firmData, name: 'one' },
      machineClock(),
      () => undefined,
    );
    ends.push(() => hub.stop());
    await until('the hub listens', () => hub.state().joined);
    let deaths = 0;
    for (let n = 1; ; n++) {
      const name = `van-${n}`;
      const made = rig(name);
      made.record(3);
      made.seal();
      const expected = { events: made.run.events(), samples: [...made.run.samples()] };
      made.store.close();
      const folder = join(root, name);
      mkdirSync(folder);
      cpSync(made.folder, join(folder, 'data'), { recursive: true });
      await made.dispose();
      const dying = startWork('outbox', folder, { before: 'data/outbox.json', nth: n }, [broker.url, name]);
      let isDead = false;
      const ended = dying.ended.then((left) => {
        isDead = left === null;
      });
      const place = () => placeOf(join(folder, 'data'))[made.runId];
      await until('it dies or is done', () => isDead || place()?.record === 'kept', 60);
      if (!isDead) {
        dying.child.kill('SIGTERM');
        await ended;
        break;
      }
      deaths += 1;
      expect(hub.store()?.openRun(made.runId)?.linkCount() ?? 0).toBeGreaterThanOrEqual(place()?.links ?? 0);
      const again = startWork('outbox', folder, null, [broker.url, name]);
      await until('the firm has it', () => place()?.record === 'kept', 60);
      again.child.kill('SIGTERM');
      await again.ended;
      expect(hub.store()?.openRun(made.runId)?.events()).toEqual(expected.events);
      expect([...(hub.store()?.openRun(made.runId)?.samples() ?? [])]).toEqual(expected.samples);
      expect(sealOf(firmData, made.runId)?.state).toBe('good');
    }
    console.log(`a rig killed before each of ${deaths} steps of keeping its place: nothing lost`);
    expect(deaths).toBeGreaterThan(3);
  });
});
