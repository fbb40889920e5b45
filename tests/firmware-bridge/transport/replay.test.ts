import { expect, test } from 'vitest';
import { replayTransport, sampleLines } from '../../../firmware-bridge/transport/replay.ts';
import { WireReader } from '../../../firmware-bridge/wire/wire-reader.ts';
import { emptySample, type Sample } from '../../../src/core/quantity/sample.ts';
import { HandClock, realClock, until } from '../../contracts/transport-clocks.ts';
import { Ear } from '../../contracts/transport.contract.ts';

const kit = 'urn:dev:ow:10e2073a01080063';
const rows: Sample[] = Array.from({ length: 500 }, (_, i) => ({
  ...emptySample(i / 10),
  turbidityNtu: Math.round(1000 + 900 * Math.sin(i)) / 10,
  flowLpm: i % 7 === 0 ? null : 12.3456,
  pressureBar: (1400 + i) / 1000,
}));

test('rows of a recording come through the wire as they were, missing values too', async () => {
  const reader = new WireReader();
  const ear = new Ear();
  const replay = replayTransport({ name: 'replay', source: sampleLines(rows, kit), speed: 'all', clock: realClock });
  await replay.open(ear);
  await until('the end', () => replay.state.kind === 'ended');
  const packs = ear.chunks.flatMap((chunk) => reader.push(chunk)).flatMap((d) => (d.ok ? [d.pack] : []));
  expect(packs.map((pack) => ({ ...emptySample(pack.upS), ...pack.values }))).toEqual(rows);
});

test('at ten times the speed a second of the recording takes a tenth, and its times stay its own', async () => {
  const clock = new HandClock();
  const ear = new Ear();
  const replay = replayTransport({ name: 'replay', source: sampleLines(rows, kit), speed: 10, clock });
  await clock.pass(5);
  await replay.open(ear);
  await clock.pass(1.001);
  expect(ear.chunks).toHaveLength(101);
  expect(ear.times[100]).toBeCloseTo(15, 9);
  await replay.close();
  expect(clock.timers).toBe(0);
});

test('a source that fails ends in a told state, not in a crash', async () => {
  function* broken() {
    yield { atS: 0, bytes: Uint8Array.of(1) };
    throw new Error('disk gone');
  }
  const ear = new Ear();
  const replay = replayTransport({ name: 'replay', source: broken(), speed: 'all', clock: realClock });
  await replay.open(ear);
  await until('the end', () => replay.state.kind === 'silent');
  expect(ear.states.at(-1)).toMatchObject({ problem: { code: 'transport-replay-failed' } });
  await replay.close();
});
