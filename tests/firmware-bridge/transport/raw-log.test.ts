import { appendFile, mkdtemp, readdir, rm, stat, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { RawLog, readRawLog } from '../../../firmware-bridge/transport/raw-log.ts';
import { replayTransport } from '../../../firmware-bridge/transport/replay.ts';
import { realClock, until } from '../../contracts/transport-clocks.ts';
import { Ear } from '../../contracts/transport.contract.ts';

let folder = '';
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'limpid-raw-'));
});
afterEach(() => rm(folder, { recursive: true, force: true }));

async function all(where: string): Promise<{ atS: number; bytes: Uint8Array }[]> {
  const found = [];
  for await (const entry of readRawLog(where)) found.push(entry);
  return found;
}

test('property: every byte comes back with its time', async () => {
  let run = 0;
  await fc.assert(
    fc.asyncProperty(fc.array(fc.uint8Array({ minLength: 1, maxLength: 60 }), { maxLength: 10 }), async (chunks) => {
      const where = join(folder, String(run++));
      const log = new RawLog(where);
      for (const [i, chunk] of chunks.entries()) log.write(chunk, i / 8);
      await log.flush();
      const back = await all(where);
      expect(back.map((b) => b.atS)).toEqual(chunks.map((_, i) => i / 8));
      expect(back.map((b) => [...b.bytes])).toEqual(chunks.map((c) => [...c]));
    }),
    { numRuns: 30 },
  );
});

test('its size is bounded, the newest bytes stay, and a new start goes on', async () => {
  const most = 40_000;
  for (let start = 0; start < 4; start++) {
    const log = new RawLog(folder, most);
    for (let i = 0; i < 500; i++) {
      log.write(Buffer.from(`start ${start} line ${i}\n`), start * 100 + i / 10);
      if (i % 50 === 0) await log.flush();
    }
    await log.flush();
    expect(log.problem).toBeNull();
  }
  const sizes = await Promise.all((await readdir(folder)).map(async (name) => (await stat(join(folder, name))).size));
  expect(sizes.reduce((a, b) => a + b, 0)).toBeLessThanOrEqual(most);
  const texts = (await all(folder)).map((e) => Buffer.from(e.bytes).toString('latin1'));
  expect(texts.at(-1)).toBe('start 3 line 499\n');
  expect(texts.length).toBeGreaterThan(400);
});

test('a line that a power cut left half-written is passed over', async () => {
  const log = new RawLog(folder);
  log.write(Buffer.from('whole\n'), 1);
  await log.flush();
  await appendFile(join(folder, 'raw.log'), '2.000000\t"ha');
  expect(await all(folder)).toHaveLength(1);
});

test('a disk that takes nothing is told, and costs nothing else', async () => {
  const file = join(folder, 'a-file');
  await writeFile(file, '');
  const log = new RawLog(join(file, 'below'));
  log.write(Buffer.from('x'), 1);
  await log.flush();
  expect(log.problem?.code).toBe('transport-raw-log');
  log.write(Buffer.from('y'), 2);
  await log.flush();
});

test('a raw log is replayed byte for byte, with the times between', async () => {
  const log = new RawLog(folder);
  for (let i = 0; i < 300; i++) log.write(Buffer.from(`line ${i}\n`), 50 + i / 10);
  await log.flush();
  const ear = new Ear();
  const replay = replayTransport({ name: 'replay', source: readRawLog(folder), speed: 1000, clock: realClock });
  await replay.open(ear);
  await until('the end', () => replay.state.kind === 'ended');
  expect(ear.text).toBe(Array.from({ length: 300 }, (_, i) => `line ${i}\n`).join(''));
  expect((ear.times.at(-1) ?? 0) - (ear.times[0] ?? 0)).toBeCloseTo(29.9, 6);
  await replay.close();
});
