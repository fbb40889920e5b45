import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, describe, expect, test } from 'vitest';
import { sealOf } from '../../../src/recording/sealed.ts';
import { machineClock } from '../../../src/run/clock.ts';
import { type Hub, startHub } from '../../../src/run/hub.ts';
import { until } from '../../contracts/transport-clocks.ts';
import { client, hasMosquitto, mosquitto, type Mosquitto } from '../mosquitto/broker.ts';
import { badLink } from './bad-link.ts';
import { type Difference, difference, none } from './difference.ts';
import { type Rig, rig } from './rig.ts';

const ends: (() => unknown)[] = [];
afterEach(async () => {
  for (const end of ends.splice(0).reverse()) await end();
});

const wait = (ms: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, ms));

async function aBroker(more: readonly string[]): Promise<Mosquitto> {
  const made = await mosquitto(['allow_anonymous true', ...more]);
  ends.push(() => made.dispose());
  return made;
}

async function aHub(url: string, more: readonly string[] = []): Promise<{ readonly hub: Hub; readonly data: string }> {
  const data = mkdtempSync(join(tmpdir(), 'limpid-limits-'));
  const [user = null, password = null] = more;
  const hub = await startHub(
    { broker: { url, user, password }, series: null, data, name: 'one' },
    machineClock(),
    () => undefined,
  );
  ends.push(
    () => rmSync(data, { recursive: true, force: true }),
    () => hub.stop(),
  );
  return { hub, data };
}

function aRig(): Rig {
  const made = rig('van-1');
  ends.push(() => made.dispose());
  return made;
}

/** Sealed at the rig and kept at the firm; what is different there. */
async function arrives(
  one: Rig,
  { hub, data }: { readonly hub: Hub; readonly data: string },
  withinS: number,
): Promise<Difference> {
  one.seal();
  await until('the sealed record is there', () => sealOf(data, one.runId)?.state === 'good', withinS).catch(
    (error: unknown) => {
      throw new Error(`${String(error)}; the rig says: ${one.said.join(' | ')}`);
    },
  );
  return difference(hub.store()?.openRun(one.runId), one.run);
}

describe.skipIf(!hasMosquitto())('a broker that holds back', () => {
  test.each([
    ['one message under way', ['max_inflight_messages 1']],
    ['messages of 40 kB at most, in the words of MQTT 5', ['max_packet_size 40000']],
    ['four connections at most, all of them in use for a while', ['max_connections 4']],
  ])('%s: everything arrives', async (what, more) => {
    const broker = await aBroker(more);
    const others = what.startsWith('four')
      ? await Promise.all(['a', 'b', 'c', 'd'].map((clientId) => client(broker.url, { clientId })))
      : [];
    for (const other of others) ends.push(() => other.endAsync(true));
    const firm = await aHub(broker.url);
    const one = aRig();
    one.record(6);
    const link = await one.join(broker.url);
    const isHeld = (): boolean => link.state.problem !== null && !link.state.joined && !firm.hub.state().joined;
    if (others.length > 0) await until('it is told', isHeld, 60);
    for (const other of others) await other.endAsync(true);
    expect(await arrives(one, firm, 120)).toEqual(none);
  });

  test('that takes no message of the size of a minute: told with both sizes, and all goes once it takes them', async () => {
    const broker = await aBroker(['max_packet_size 1500']);
    const firm = await aHub(broker.url);
    const one = aRig();
    one.record(3);
    const link = await one.join(broker.url);
    await until('it is told', () => link.state.problem?.code === 'outbox-too-large', 60);
    expect(one.said.at(-1)).toMatch(/1500/);
    expect(firm.hub.store()?.openRun(one.runId)?.events().length ?? 0).toBeLessThan(one.run.linkCount());
    await broker.stop();
    writeFileSync(
      join(broker.folder, 'broker.conf'),
      `listener ${broker.port} 127.0.0.1\nuser root\nallow_anonymous true\nmax_queued_messages 0\n`,
    );
    await broker.start();
    expect(await arrives(one, firm, 200)).toEqual(none);
  });

  test('that keeps three messages and drops the rest while no hub is there: they are sent again', async () => {
    const broker = await aBroker(['max_queued_messages 3', 'max_inflight_messages 1']);
    const first = await aHub(broker.url);
    await until('the hub listens', () => first.hub.state().joined);
    await first.hub.stop();
    const one = aRig();
    one.record(12);
    await one.join(broker.url);
    await wait(3000);
    const again = await startHub(
      { broker: { url: broker.url, user: null, password: null }, series: null, data: first.data, name: 'one' },
      machineClock(),
      () => undefined,
    );
    ends.splice(
      ends.findLastIndex((end) => String(end).includes('hub.stop')),
      1,
    );
    ends.push(() => again.stop());
    expect(await arrives(one, { hub: again, data: first.data }, 300)).toEqual(none);
  });

  test('that crawls: everything arrives, and what is recorded meanwhile is kept at once', async () => {
    const broker = await aBroker([]);
    const slow = await badLink(broker.port);
    ends.push(() => slow.close());
    Object.assign(slow.link, { bytesPerS: 4000, delayMs: 100 });
    const firm = await aHub(broker.url);
    const one = aRig();
    one.record(4);
    await one.join(`mqtt://127.0.0.1:${slow.port}`);
    expect(await arrives(one, firm, 400)).toEqual(none);
  });

  test('that takes the rig’s right away while it sends, and gives it back: told, and all arrives', async () => {
    const rights = join(mkdtempSync(join(tmpdir(), 'limpid-rights-')), 'rights');
    ends.push(() => rmSync(join(rights, '..'), { recursive: true, force: true }));
    writeFileSync(rights, 'topic readwrite #\n');
    const broker = await aBroker([`acl_file ${rights}`]);
    const firm = await aHub(broker.url);
    await until('the hub listens', () => firm.hub.state().joined);
    const one = aRig();
    one.record(3);
    const link = await one.join(broker.url);
    await until('the first minutes are there', () => (firm.hub.store()?.openRun(one.runId)?.linkCount() ?? 0) > 3);
    writeFileSync(rights, 'topic read #\ntopic write limpid/+/down/#\n');
    broker.reload();
    one.record(2);
    await until('it is told', () => link.state.problem?.code === 'outbox-not-allowed', 30);
    writeFileSync(rights, 'topic readwrite #\n');
    broker.reload();
    expect(await arrives(one, firm, 120)).toEqual(none);
  });
});
