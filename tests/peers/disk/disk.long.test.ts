import { cpSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, describe, expect, test } from 'vitest';
import { verifyChain } from '../../../src/core/seal/verify.ts';
import { sealOf } from '../../../src/recording/sealed.ts';
import { machineClock } from '../../../src/run/clock.ts';
import { startHub } from '../../../src/run/hub.ts';
import { type RunView, runViewSchema, traceAnswerSchema } from '../../../src/server/protocol.ts';
import { openStore } from '../../../src/store/open.ts';
import { sha256 } from '../../../src/store/rows.ts';
import { rig } from '../firm/rig.ts';
import { freePort, hasMosquitto, mosquitto, type Mosquitto } from '../mosquitto/broker.ts';
import { hasSmallDisks, type OnDisk, SmallDisk, untilSaid } from './small-disk.ts';

const ends: (() => unknown)[] = [];
afterEach(async () => {
  for (const end of ends.splice(0).reverse()) await end();
});

const wait = (ms: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, ms));
const cli = [process.execPath, '--import', 'tsx', 'src/cli/limpid.ts'];

function disk(megabytes = 12): SmallDisk {
  const made = new SmallDisk(megabytes);
  ends.push(() => made.dispose());
  return made;
}

async function broker(): Promise<Mosquitto> {
  const made = await mosquitto();
  ends.push(() => made.dispose());
  return made;
}

/** A bridge whose data folder is on the small disk, and a page that posts to it. */
class Bridge {
  readonly on: OnDisk;
  readonly url: string;
  readonly acknowledged: string[] = [];
  readonly refused: { readonly id: string; readonly code: string; readonly text: string }[] = [];

  constructor(on: OnDisk, port: number) {
    this.on = on;
    this.url = `http://127.0.0.1:${port}`;
  }

  static async start(at: SmallDisk, more: readonly string[] = []): Promise<Bridge> {
    const port = await freePort();
    const words = ['start', '--simulate', 'rehearsal', '--json', '--speed', '10', '--data', join(at.path, 'data')];
    const made = new Bridge(at.start([...cli, ...words, '--port', String(port), ...more]), port);
    await untilSaid(made.on, 'the bridge is up', () => made.on.said().includes('"url"'));
    return made;
  }

  async view(): Promise<RunView> {
    return runViewSchema.parse(await (await fetch(`${this.url}/api/view`)).json());
  }

  /** Times of the readings that a page was shown. */
  async shown(): Promise<number[]> {
    const answer = await (await fetch(`${this.url}/api/trace?points=100000`)).json();
    return traceAnswerSchema.parse(answer).rows.flatMap((row) => (row[1] === null ? [] : [row[0]]));
  }

  async trouble(): Promise<string | null> {
    return (await this.view()).links.find((link) => link.id === 'bridge' && link.state === 'trouble')?.text ?? null;
  }

  async post(event: string, note: string): Promise<boolean> {
    const id = `page-${this.acknowledged.length + this.refused.length}-${this.url.slice(-5)}`;
    const answer = await fetch(`${this.url}/api/events`, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ id, event, emitter: '', note }),
    });
    const body: unknown = await answer.json();
    if (answer.status === 200) this.acknowledged.push(id);
    else this.refused.push({ id, ...(body as { code: string; text: string }) });
    return answer.status === 200;
  }
}

/** Every acknowledged event once, none that was refused, an intact chain, every reading that was shown; how many samples. */
function checkRecord(
  folder: string,
  acknowledged: readonly string[],
  refused: readonly string[],
  shown: readonly number[] = [],
) {
  const copy = mkdtempSync(join(tmpdir(), 'limpid-disk-copy-'));
  try {
    cpSync(folder, copy, { recursive: true });
    const store = openStore(copy);
    const run = store.openRun(store.runs()[0]?.runId ?? '');
    if (!run) throw new Error('the run is gone');
    const ids = run.events().map((link) => link.id);
    for (const id of acknowledged) expect(ids.filter((other) => other === id)).toEqual([id]);
    expect(ids.filter((id) => refused.includes(id))).toEqual([]);
    expect(verifyChain(run.head, run.events(), sha256)).toMatchObject({ intact: true });
    const times = [...run.samples()].map((sample) => sample.timeS);
    const missing = shown.filter((timeS) => !times.some((kept) => Math.abs(kept - timeS) < 0.002));
    expect(missing).toEqual([]);
    store.close();
    return times.length;
  } finally {
    rmSync(copy, { recursive: true, force: true });
  }
}

const isPlain = (said: string): void => {
  expect(said).not.toMatch(/\n\s+at |Error:|node:internal/);
};

describe.skipIf(!hasSmallDisks())('a disk that takes nothing (root, loop devices)', () => {
  test('read-only from the start: bridge and hub say so in a sentence, and change nothing', async () => {
    const at = disk();
    at.unmount();
    at.mount('ro');
    for (const words of [
      ['start', '--simulate', 'rehearsal', '--data', join(at.path, 'data'), '--port', String(await freePort())],
      ['hub', '--broker', 'mqtt://127.0.0.1:1', '--data', join(at.path, 'hub'), '--port', String(await freePort())],
    ]) {
      const tried = at.start([...cli, ...words]);
      expect(await tried.ended).toBe(1);
      isPlain(tried.said());
      expect(tried.said()).toContain(at.path);
      expect(tried.said()).toMatch(/cannot be written|read-only/i);
    }
  });

  test('read-only at a start with a run on it: refused, and the run goes on once it can be written', async () => {
    const at = disk();
    const first = await Bridge.start(at);
    for (let i = 0; i < 5; i++) expect(await first.post('note', `note ${i}`)).toBe(true);
    await wait(1500);
    expect(await first.on.stop('SIGINT')).toBe(0);
    at.unmount();
    at.mount('ro');
    const tried = at.start([...cli, 'start', '--simulate', 'rehearsal', '--data', join(at.path, 'data')]);
    expect(await tried.ended).toBe(1);
    isPlain(tried.said());
    expect(tried.said()).toMatch(/cannot be written/);
    at.unmount();
    at.mount();
    const second = await Bridge.start(at);
    expect(await second.post('note', 'after')).toBe(true);
    await second.on.stop('SIGINT');
    const acknowledged = [...first.acknowledged, ...second.acknowledged];
    checkRecord(join(at.seen, 'data'), acknowledged, []);
  });

  test('it fails during a run: told at once, nothing more is acknowledged, nothing acknowledged is lost', async () => {
    const at = disk();
    const first = await Bridge.start(at);
    for (let i = 0; i < 10; i++) await first.post('note', `note ${i}`);
    expect(first.refused).toEqual([]);
    const { stage } = await first.view();
    at.fail();
    for (let i = 0; i < 3; i++) expect(await first.post('stage:circulate', 'not kept')).toBe(false);
    expect((await first.view()).stage).toBe(stage);
    let told: string | null = null;
    for (let i = 0; i < 100 && told === null; i++) {
      told = await first.trouble();
      await wait(100);
    }
    expect(told).toMatch(/limpid\.sqlite/);
    for (const { text } of first.refused) expect(text).toMatch(/limpid\.sqlite/);
    expect((await fetch(`${first.url}/ready`)).status).toBe(503);
    // It still shows what comes, and ends when it is told to.
    const { timeS } = await first.view();
    await wait(500);
    expect((await first.view()).timeS).toBeGreaterThan(timeS);
    await first.on.stop('SIGINT');
    isPlain(first.on.said().replaceAll(/fault of the run:[^]*?(?=\n\S|$)/g, ''));
    at.unmount();
    at.mount();
    const second = await Bridge.start(at);
    expect((await second.view()).stage).toBe(stage);
    expect(await second.post('note', 'after')).toBe(true);
    await second.on.stop('SIGINT');
    const left = checkRecord(
      join(at.seen, 'data'),
      [...first.acknowledged, ...second.acknowledged],
      first.refused.map(({ id }) => id),
    );
    console.log(`failed disk: lost 0 of ${first.acknowledged.length} acknowledged events; ${left} samples kept`);
  });

  test.skipIf(!hasMosquitto())(
    'full during a run, on its way to a firm: told, kept in memory, and all there once there is room',
    async () => {
      const at = disk();
      const far = await broker();
      const firm = mkdtempSync(join(tmpdir(), 'limpid-disk-firm-'));
      ends.push(() => rmSync(firm, { recursive: true, force: true }));
      const one = await Bridge.start(at, ['--outbox', far.url, '--rig', 'van-1']);
      for (let i = 0; i < 10; i++) await one.post('note', `before ${i}`);
      await wait(2000);
      at.fill();
      // Now the firm tells what it has, and the place on the way there finds no room either.
      const hub = await startHub(
        { broker: { url: far.url, user: null, password: null }, series: null, data: firm, name: 'one' },
        machineClock(),
        () => undefined,
      );
      ends.push(() => hub.stop());
      for (let i = 0; i < 3000 && one.refused.length < 5; i++) {
        await one.post('note', `while ${i}`);
        // What a removed journal gave back.
        if (i % 50 === 0) at.fill();
      }
      expect(one.refused.length).toBe(5);
      for (const { code, text } of one.refused) {
        expect(code).toBe('store-disk-full');
        expect(text).toMatch(/full|room/);
      }
      let told: string | null = null;
      for (let i = 0; i < 100 && told === null; i++) {
        at.fill();
        told = await one.trouble();
        await wait(100);
      }
      expect(told).toMatch(/full|room/);
      await wait(4000);
      expect(one.on.child.exitCode).toBe(null);
      at.free();
      let isWell = false;
      for (let i = 0; i < 100 && !isWell; i++) {
        isWell = (await one.trouble()) === null;
        await wait(100);
      }
      expect(isWell).toBe(true);
      expect(await one.post('note', 'after')).toBe(true);
      const shown = await one.shown();
      await one.on.stop('SIGINT');
      isPlain(one.on.said());
      const left = checkRecord(
        join(at.seen, 'data'),
        one.acknowledged,
        one.refused.map(({ id }) => id),
        shown,
      );
      console.log(
        `full disk: lost 0 of ${one.acknowledged.length} acknowledged events, 0 of ${shown.length} readings shown; ${left} samples kept`,
      );
    },
  );

  test.skipIf(!hasMosquitto()).each(['full', 'failed'] as const)(
    'of a hub, %s: told, nothing is acknowledged that is not kept, and all is there in the end',
    async (how) => {
      const at = disk(16);
      const far = await broker();
      const port = await freePort();
      const words = ['hub', '--broker', far.url, '--data', join(at.path, 'hub'), '--port', String(port)];
      let hub = at.start([...cli, ...words]);
      await untilSaid(hub, 'the hub is up', () => hub.said().includes('/metrics'));
      const rigs = ['van-1', 'van-2'].map((name) => rig(name));
      for (const one of rigs) {
        ends.push(() => one.dispose());
        one.record(5);
        await one.join(far.url);
      }
      await wait(3000);
      if (how === 'full') at.fill();
      else at.fail();
      for (let i = 0; i < 60 && !hub.said().includes('could not be kept'); i++) {
        for (const one of rigs) one.record(2);
        if (how === 'full') at.fill();
        await wait(500);
      }
      expect(hub.said()).toContain('could not be kept');
      expect((await fetch(`http://127.0.0.1:${port}/ready`)).status).toBe(503);
      for (const one of rigs) one.seal();
      await wait(3000);
      expect(hub.child.exitCode).toBe(null);
      if (how === 'full') at.free();
      else {
        await hub.stop('SIGKILL');
        at.unmount();
        at.mount();
        hub = at.start([...cli, ...words]);
      }
      const data = join(at.seen, 'hub');
      await untilSaid(
        hub,
        'both records are there',
        () => rigs.every((one) => sealOf(data, one.runId)?.state === 'good'),
        200,
      );
      isPlain(hub.said());
      await hub.stop('SIGINT');
      const copy = mkdtempSync(join(tmpdir(), 'limpid-disk-copy-'));
      ends.push(() => rmSync(copy, { recursive: true, force: true }));
      cpSync(data, copy, { recursive: true });
      const store = openStore(copy);
      for (const one of rigs) {
        expect(store.openRun(one.runId)?.events()).toEqual(one.run.events());
        expect([...(store.openRun(one.runId)?.samples() ?? [])]).toEqual([...one.run.samples()]);
      }
      store.close();
      console.log(`${how} disk of a hub: lost 0 of ${rigs.reduce((n, one) => n + one.run.linkCount(), 0)} entries`);
    },
  );
});
