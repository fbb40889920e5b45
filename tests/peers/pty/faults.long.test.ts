import { spawnSync } from 'node:child_process';
import { chmod, mkdtemp, realpath, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { SerialPort } from 'serialport';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { z } from 'zod';
import { Aligner } from '../../../firmware-bridge/clock/align.ts';
import { serialTransport } from '../../../firmware-bridge/transport/serial.ts';
import type { Transport } from '../../../firmware-bridge/transport/transport.ts';
import { encodeLine } from '../../../firmware-bridge/wire/encode.ts';
import type { Pack, Reject } from '../../../firmware-bridge/wire/pack.ts';
import { WireReader } from '../../../firmware-bridge/wire/wire-reader.ts';
import { hasPty, type PtyPair, ptyPair } from '../../../simulators/kit/pty.ts';
import { say } from '../../../src/core/message/message.ts';
import { realClock, until } from '../../contracts/transport-clocks.ts';
import { Ear } from '../../contracts/transport.contract.ts';

const kitName = 'urn:dev:mac:0024befffe804ff1';
const line = (seq: number, boot = 1) =>
  encodeLine({ kit: kitName, boot, seq, upS: seq / 10, values: { turbidityNtu: seq % 1000 } });

const toldState = z.looseObject({
  kind: z.string(),
  problem: z.object({ code: z.string(), params: z.record(z.string(), z.union([z.string(), z.number()])) }).optional(),
});

/** A bridge's end: transport and reader joined as the run joins them. */
class Bridge extends Ear {
  readonly reader = new WireReader();
  readonly packs: Pack[] = [];
  readonly rejects: Reject[] = [];
  readonly transport: Transport;

  constructor(path: string, baudRate?: number) {
    super();
    const hearing = this.reader.counters;
    this.transport = serialTransport({ path, clock: realClock, hearing, ...(baudRate && { baudRate }) });
  }

  override bytes(chunk: Uint8Array): void {
    for (const decoded of this.reader.push(chunk)) {
      if (decoded.ok) this.packs.push(decoded.pack);
      else this.rejects.push(decoded.reject);
    }
  }

  override state(state: Transport['state']): void {
    if (state.kind === 'open') this.reader.reset();
    super.state(state);
  }

  get problem(): string {
    const { state } = this.transport;
    return 'problem' in state ? state.problem.code : state.kind;
  }
}

describe.skipIf(!hasPty())('serial over a pseudo-terminal (socat), with everything that goes wrong', () => {
  let folder = '';
  let pair: PtyPair;
  let kit: SerialPort;
  let bridge: Bridge;

  const plugIn = async () => {
    pair = await ptyPair(join(folder, 'kit'), join(folder, 'bridge'));
    kit = new SerialPort({ path: pair.kitPath, baudRate: 115200 });
    kit.on('data', () => undefined);
    kit.on('error', () => undefined);
    await new Promise((resolve) => kit.once('open', resolve));
  };
  const sendAll = async (...chunks: Uint8Array[]) => {
    for (const chunk of chunks) if (!kit.write(chunk)) await new Promise((resolve) => kit.once('drain', resolve));
    await new Promise((resolve) => kit.drain(resolve));
  };

  beforeEach(async () => {
    folder = await mkdtemp(join(tmpdir(), 'limpid-pty-'));
    await chmod(folder, 0o755);
    await plugIn();
    bridge = new Bridge(pair.bridgePath);
  });
  afterEach(async () => {
    await bridge.transport.close();
    if (kit.isOpen) await new Promise<void>((resolve) => kit.close(() => resolve()));
    await pair.unplug();
    await rm(folder, { recursive: true, force: true });
  });

  test('cut lines, bad check sums, noise and a reset in the middle of a line: every whole pack is read', async () => {
    await bridge.transport.open(bridge);
    const wrong = line(3).map((byte, i) => (i === 20 ? byte ^ 1 : byte));
    await sendAll(
      line(0).slice(30),
      line(1),
      line(2).slice(0, 50),
      Buffer.from('\n'),
      wrong,
      Buffer.from([0, 255, 7, 10]),
    );
    await sendAll(line(4), line(5).slice(0, 40), line(0, 2), line(1, 2));
    await until('the last pack', () => bridge.packs.at(-1)?.boot === 2 && bridge.packs.at(-1)?.seq === 1);
    expect(bridge.packs.map((p) => [p.boot, p.seq])).toEqual([
      [1, 1],
      [1, 4],
      [2, 0],
      [2, 1],
    ]);
    expect(bridge.rejects.map((r) => r.code)).toEqual(['wire-cut', 'wire-crc', 'wire-not-text', 'wire-crc']);
    expect(bridge.reader.counters).toMatchObject({ firstPartial: 1, badLines: 4, missing: 2, restarts: 1 });
  });

  test('two megabytes without a newline, and the stream goes on', async () => {
    await bridge.transport.open(bridge);
    await sendAll(line(0));
    for (let i = 0; i < 32; i++) await sendAll(Buffer.alloc(65536, 0x78));
    await sendAll(Buffer.from('\n'), line(1));
    await until('the pack behind', () => bridge.packs.length === 2);
    expect(bridge.rejects.map((r) => r.code)).toEqual(['wire-too-long']);
    expect(bridge.reader.counters.bytes).toBeGreaterThan(2 * 1024 * 1024);
  });

  test('twenty thousand lines as fast as they go, none lost', async () => {
    await bridge.transport.open(bridge);
    for (let seq = 0; seq < 20_000; seq += 100)
      await sendAll(Buffer.concat(Array.from({ length: 100 }, (_, i) => line(seq + i))));
    await until('all packs', () => bridge.packs.length === 20_000);
    expect(bridge.reader.counters).toMatchObject({ packs: 20_000, missing: 0, badLines: 0, gaps: 0 });
  });

  test('a clock that drifts by 200 parts in a million, heard through the port, is set right', async () => {
    const aligner = new Aligner();
    const out: number[] = [];
    await bridge.transport.open(bridge);
    const packs = 6000;
    await sendAll(
      Buffer.concat(
        Array.from({ length: packs }, (_, seq) =>
          encodeLine({ kit: kitName, boot: 1, seq, upS: (seq / 10) * (1 - 200e-6) }),
        ),
      ),
    );
    await until('all packs', () => bridge.packs.length === packs);
    // The port gives the bytes, the times of arrival are those of a kit that sent for ten minutes.
    for (const [i, pack] of bridge.packs.entries())
      out.push(aligner.align(pack.boot, pack.upS, 100 + i / 10 + 0.02 + 0.01 * ((i * 0.618) % 1)));
    expect(aligner.drift).toBeCloseTo(200e-6, 5);
    expect(Math.abs((out[packs - 1] ?? 0) - (100 + (packs - 1) / 10 + 0.02))).toBeLessThan(0.003);
  });

  test('a pulled cable is told, and taken up again when it is put back, any number of times', async () => {
    await bridge.transport.open(bridge);
    for (let round = 0; round < 2; round++) {
      await sendAll(line(round));
      await until('the pack', () => bridge.packs.length === round + 1);
      await pair.unplug();
      await until('the cable out', () => bridge.transport.state.kind === 'waiting', 25);
      await until('no port', () => bridge.problem === 'transport-no-port');
      await plugIn();
      await until('open again', () => bridge.transport.state.kind === 'open');
    }
    const told = bridge.states.flatMap((s) => (s.kind === 'waiting' ? [s.problem.code] : []));
    expect(told[0]).toBe('transport-unplugged');
    expect(bridge.reader.counters).toMatchObject({ missing: 0, badLines: 0 });
  }, 90_000);

  test('a port that is not there is waited for', async () => {
    const late = new Bridge(join(folder, 'later'));
    await late.transport.open(late);
    expect(late.problem).toBe('transport-no-port');
    const second = await ptyPair(join(folder, 'other'), join(folder, 'later'));
    await until('open', () => late.transport.state.kind === 'open');
    await late.transport.close();
    await second.unplug();
  });

  test('a port that another program holds is told as busy, and taken up when it is let go', async () => {
    const other = new SerialPort({ path: pair.bridgePath, baudRate: 115200 });
    await new Promise((resolve) => other.once('open', resolve));
    await bridge.transport.open(bridge);
    expect(bridge.problem).toBe('transport-busy');
    await new Promise<void>((resolve) => other.close(() => resolve()));
    await until('open', () => bridge.transport.state.kind === 'open');
    await sendAll(line(1));
    await until('a pack', () => bridge.packs.length === 1);
  });

  test('a port that one may not open is told with the group to join', async () => {
    const device = await realpath(pair.bridgePath);
    await chmod(device, 0);
    // The superuser may open anything; then someone else must try.
    const asOther = process.getuid?.() === 0 ? { uid: 65534, gid: 65534 } : {};
    const script = new URL('./open-port.ts', import.meta.url).pathname;
    const tried = spawnSync(process.execPath, ['--import', import.meta.resolve('tsx'), script, pair.bridgePath], {
      ...asOther,
      encoding: 'utf8',
      env: { PATH: process.env['PATH'], TSX_DISABLE_CACHE: '1' },
    });
    const states = tried.stdout.split('\n').flatMap((text) => (text === '' ? [] : [toldState.parse(JSON.parse(text))]));
    const said = states.flatMap((s) => (s.problem ? [say(s.problem)] : []));
    expect(tried.stderr).toBe('');
    expect(said[0]).toMatch(/^You may not open .*sudo usermod -aG \w+ \$USER/);
  });

  test('an open port that says nothing is told as silent, and the first byte ends it', async () => {
    await bridge.transport.open(bridge);
    await until('silence', () => bridge.problem === 'transport-silent');
    await sendAll(line(1));
    await until('open', () => bridge.transport.state.kind === 'open');
    expect(bridge.kinds).toEqual(['opening', 'open', 'silent', 'open']);
  });

  test('bytes that are no text are told as a wrong speed, and right ones end it', async () => {
    await bridge.transport.open(bridge);
    const noise = Buffer.from(Array.from({ length: 200 }, (_, i) => (i * 37 + 128) % 256));
    const timer = setInterval(() => kit.write(noise), 100);
    await until('wrong speed', () => bridge.problem === 'transport-wrong-baud');
    clearInterval(timer);
    await sendAll(Buffer.from('\n'), line(1));
    await until('open', () => bridge.transport.state.kind === 'open');
    expect(bridge.packs.map((p) => p.seq)).toEqual([1]);
  });
});
