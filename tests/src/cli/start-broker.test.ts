import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { PassThrough } from 'node:stream';
import type { MqttClient } from 'mqtt';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { z } from 'zod';
import { main } from '../../../src/cli/main.ts';
import { type RunView, runViewSchema, traceAnswerSchema } from '../../../src/server/protocol.ts';
import { startSimulatedRig } from '../../../simulators/simulate.ts';
import { realClock, until } from '../../contracts/transport-clocks.ts';
import { client, freePort } from '../../peers/mosquitto/broker.ts';
import { joinKit } from '../../peers/mosquitto/mqtt-kit.ts';

let data = '';
const ends: (() => Promise<unknown>)[] = [];
beforeEach(() => {
  data = mkdtempSync(join(tmpdir(), 'limpid-broker-'));
});
afterEach(async () => {
  for (const end of ends.splice(0).reverse()) await end();
  rmSync(data, { recursive: true, force: true });
});

interface Started {
  readonly url: string;
  readonly broker: string;
  said(): string;
  view(): Promise<RunView>;
}

/** `limpid start --broker`, in this process, until the test ends. */
async function start(...more: string[]): Promise<Started> {
  const port = await freePort();
  const stdout = new PassThrough();
  const stderr = new PassThrough();
  let result = '';
  let said = '';
  stdout.on('data', (chunk: Buffer) => {
    result += chunk.toString();
  });
  stderr.on('data', (chunk: Buffer) => {
    said += chunk.toString();
  });
  let stop = (): void => undefined;
  const stopped = new Promise<void>((resolve) => {
    stop = resolve;
  });
  const pages = String(await freePort());
  const argv = [
    'start',
    '--broker',
    String(port),
    '--host',
    '127.0.0.1',
    '--port',
    pages,
    '--data',
    data,
    '--json',
    ...more,
  ];
  const done = main(argv, { webRoot: 'dist/web', stdout, stderr, stopped: () => stopped });
  ends.push(async () => {
    stop();
    expect(await done).toBe(0);
  });
  await Promise.race([done, until('the bridge is ready', () => result.includes('\n'), 20)]);
  if (result === '') throw new Error(said);
  const { url } = z.object({ url: z.string() }).parse(JSON.parse(result));
  return {
    url,
    broker: `mqtt://127.0.0.1:${port}`,
    said: () => said,
    view: async () => runViewSchema.parse(await (await fetch(`${url}/api/view`)).json()),
  };
}

async function seen(what: string, started: Started, isSo: (view: RunView) => boolean): Promise<RunView> {
  for (let tries = 0; tries < 200; tries++) {
    const view = await started.view();
    if (isSo(view)) return view;
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
  throw new Error(`never seen: ${what}: ${JSON.stringify((await started.view()).links)}`);
}

const kitLink = (view: RunView) => view.links.find((link) => link.id === 'kit');
const leave = (kit: MqttClient) => ends.push(() => kit.endAsync(true));

test('a kit that publishes to the broker inside is read, and its going is told', async () => {
  const started = await start();
  expect(started.said()).toContain('LIMPID_MQTT_PASSWORD');
  const rig = startSimulatedRig({ scenario: 'rehearsal', seed: 1, clock: realClock });
  const kit = await joinKit(rig.peer, 'urn:dev:mac:02000000feed0001', started.broker, { protocolVersion: 4 });
  ends.push(async () => rig.peer.stop());
  leave(kit);
  await seen('its readings are there', started, (view) => view.links.every((link) => link.state === 'ok'));
  const answer = await (await fetch(`${started.url}/api/trace`)).json();
  expect(traceAnswerSchema.parse(answer).rows.some((row) => row[1] !== null)).toBe(true);
  kit.options.reconnectPeriod = 0;
  kit.stream.destroy();
  const name = 'mac:02000000feed0001';
  const gone = await seen('the kit is told as gone', started, (view) => kitLink(view)?.text.includes(name) ?? false);
  expect(kitLink(gone)?.state).toBe('trouble');
});

test('a kit of another make is read by its mapping', async () => {
  const file = join(data, 'kit.json');
  const place = (path: string, unit: string) => ({ topic: 'garage/telemetry', path, unit });
  writeFileSync(
    file,
    JSON.stringify({
      kit: 'urn:dev:mac:1',
      form: 'json',
      channels: { turbidity: place('/ntu', 'NTU'), flow: place('/flow', 'l/h') },
    }),
  );
  const started = await start('--mapping', file);
  const kit = await client(started.broker, { protocolVersion: 4, clientId: 'garage' });
  leave(kit);
  const beat = setInterval(() => kit.publish('garage/telemetry', '{"ntu":41.5,"flow":720}', { qos: 1 }), 100);
  ends.push(async () => clearInterval(beat));
  await seen('the kit is there', started, (view) => kitLink(view)?.state === 'ok');
  const answer = await (await fetch(`${started.url}/api/trace`)).json();
  expect(traceAnswerSchema.parse(answer).rows.at(-1)?.slice(1, 3)).toEqual([41.5, 12]);
});

test('a mapping that is wrong stops the start with the place of the fault', async () => {
  const file = join(data, 'kit.json');
  writeFileSync(file, '{"kit":"urn:dev:mac:1","channels":{"flow":{"topic":"a","unit":"gal"}}}');
  const stderr = new PassThrough();
  let said = '';
  stderr.on('data', (chunk: Buffer) => {
    said += chunk.toString();
  });
  const argv = ['start', '--broker', String(await freePort()), '--data', data, '--mapping', file];
  const io = { webRoot: '', stdout: new PassThrough(), stderr, stopped: () => Promise.resolve() };
  expect(await main(argv, io)).toBe(1);
  expect(said).toContain('channels.flow.unit is "gal"; expected: l/s');
});
