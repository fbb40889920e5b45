import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterAll, describe, expect, it } from 'vitest';
import { decodeLine } from '../../../firmware-bridge/wire/decode.ts';
import { encodePack } from '../../../firmware-bridge/wire/encode.ts';
import { kitTopic } from '../../../firmware-bridge/wire/topics.ts';
import { hostKit, noHost } from './build.ts';

const kit = 'urn:dev:mac:0024befffe804ff1';
const pack = (seq: number): string => encodePack({ kit, boot: 3, seq, upS: seq / 10, values: { turbidityNtu: seq } });
const late = (line: string) => decodeLine(new TextEncoder().encode(line));

describe.skipIf(noHost)(`what a Wi-Fi board adds, on the host${noHost ? ` (${noHost})` : ''}`, () => {
  it('gives back what was kept, oldest first, each told as late, and nothing twice', () => {
    const input = [...[1, 2, 3].map((s) => `+${pack(s)}`), '-', `+${pack(4)}`, '-', '-', '-', '-'].join('\n');
    const out = hostKit(['ring', '4096'], `${input}\n`).trimEnd().split('\n');
    const sent = out.filter((line) => line.startsWith('['));
    const packs = sent.map(late);
    expect(packs.map((p) => p.ok && [p.pack.seq, p.pack.late, p.pack.values.turbidityNtu])).toEqual([
      [1, true, 1],
      [2, true, 2],
      [3, true, 3],
      [4, true, 4],
    ]);
  });

  it('behaves as a queue that forgets its oldest, whatever the lengths and the memory', () => {
    const op = fc.oneof(fc.integer({ min: 2, max: 60 }), fc.constant(0));
    fc.assert(
      fc.property(fc.integer({ min: 40, max: 300 }), fc.array(op, { minLength: 1, maxLength: 80 }), (size, ops) => {
        const queue: string[] = [];
        const expected = ops.map((n, i) => {
          if (n === 0) {
            const oldest = queue.shift();
            return oldest === undefined ? '' : `${oldest.slice(0, -1)},{"n":"late","vb":true}]`;
          }
          const text = `[${String(i % 10).repeat(n - 2)}]`;
          if (text.length + 2 > size) return 'refused';
          queue.push(text);
          while (queue.reduce((sum, t) => sum + t.length + 2, 0) > size) queue.shift();
          return 'kept';
        });
        const input = ops.map((n, i) => (n === 0 ? '-' : `+[${String(i % 10).repeat(n - 2)}]`)).join('\n');
        expect(
          hostKit(['ring', String(size)], `${input}\n`)
            .slice(0, -1)
            .split('\n'),
        ).toEqual(expected);
      }),
      { numRuns: 40, seed: 4 },
    );
  });

  it('publishes where the bridge listens, and nowhere for a name that is none', () => {
    const urns = [
      kit,
      'urn:dev:ow:281e8316000000e2',
      'mac:00',
      'urn:dev:',
      'urn:dev:mac:a+b',
      'urn:dev:mac:a/b',
      'urn:dev:mac:a b',
    ];
    const told = hostKit(['topics'], `${urns.join('\n')}\n`)
      .trimEnd()
      .split('\n');
    expect(told).toEqual([
      ...urns.slice(0, 2).flatMap((urn) => [kitTopic(urn, 'senml'), kitTopic(urn, 'do'), kitTopic(urn, 'state')]),
      ...Array.from({ length: 15 }, () => 'none'),
    ]);
  });

  it.each([
    // 96 kB of packs of 330 bytes are 296: ten minutes at 10 Hz are 6000, so every 21st.
    [98_304, 330, 100, 600, 21],
    [4_000_000, 330, 100, 600, 1],
    [98_304, 330, 5, 600, 2],
    [100, 330, 100, 600, 65_535],
  ])('keeps of %i bytes, packs of %i, %i deci-hertz over %i s, every %ith', (size, length, rate, seconds, every) => {
    expect(Number(hostKit(['every', String(size), String(length), String(rate), String(seconds)], ''))).toBe(every);
  });

  /** The very main of the Wi-Fi board, over a board in software. */
  const board = (...script: readonly string[]): string[] => {
    const here = 'tests/firmware-bridge/firmware/wifi-board';
    const firmware = 'firmware-bridge/firmware';
    const paths = [`${firmware}/kit-core`, `${firmware}/boards/wifi`, here].flatMap((path) => ['-I', path]);
    const checks = [
      '-std=c++14',
      '-O1',
      '-fsanitize=address,undefined',
      '-fno-sanitize-recover=all',
      '-Wall',
      '-Wextra',
    ];
    const core = readdirSync(`${firmware}/kit-core`).filter((name) => name.endsWith('.cpp'));
    const sources = [`${here}/board.cpp`, ...core.map((name) => `${firmware}/kit-core/${name}`)];
    if (!existsSync(program)) {
      const built = spawnSync('g++', [...checks, '-Werror', ...paths, '-x', 'c++', ...sources, '-o', program], {
        encoding: 'utf8',
      });
      expect(built.stderr).toBe('');
    }
    const ran = spawnSync(program, { input: `${script.join('\n')}\n`, encoding: 'utf8', maxBuffer: 64 << 20 });
    expect(ran.stderr).toBe('');
    return ran.stdout.trimEnd().split('\n');
  };
  const folder = mkdtempSync(join(tmpdir(), 'limpid-wifi-'));
  const program = join(folder, 'board');
  afterAll(() => rmSync(folder, { recursive: true }));
  const name = 'mac:020000fffeabcdef';
  const packs = (lines: readonly string[]) =>
    lines.flatMap((line) => {
      const text = new RegExp(`^\\d+ limpid/${name}/senml 1 0 (\\[.*)$`).exec(line)?.[1];
      if (text === undefined) return [];
      const decoded = late(text);
      return decoded.ok ? [decoded.pack] : [];
    });

  it('joins the broker as docs/mqtt.md asks for: its own id, a clean session, its will, then ready', () => {
    expect(board('up').slice(0, 3)).toEqual([
      `config mqtt://192.0.2.7:1883 id=${name} user=rig clean=1 keepalive=10 will=limpid/${name}/state lost 1 1`,
      `subscribe limpid/${name}/do 1`,
      `2 limpid/${name}/state 1 1 ready`,
    ]);
  });

  it('publishes packs that the bridge reads, at its rate, and obeys', () => {
    const out = board('up', 'ms 5000', 'ack', 'do [{"n":"do-rate","v":2}]', 'ms 3000');
    const all = packs(out);
    expect(all.map((p) => p.seq)).toEqual(all.map((_, i) => i));
    expect(all[0]?.kit).toBe(`urn:dev:${name}`);
    expect(all.filter((p) => p.hello).map((p) => p.hello?.rateHz)).toEqual([10, 2]);
    expect(all.some((p) => p.late)).toBe(false);
  });

  it('sends again as late what was not acknowledged when the link went, and loses no press while it is away', () => {
    const out = board(
      ...['up', 'ms 2000', 'ack', 'ms 10', 'ms 1000', 'down', 'ms 1000', 'button 1', 'ms 300', 'button 0', 'ms 5000'],
      ...Array.from({ length: 12 }, () => ['up', 'ms 500', 'ack']).flat(),
    );
    const all = packs(out);
    const lates = all.filter((p) => p.late);
    const before = all.findIndex((p) => p.late);
    // Those of the second that nobody acknowledged, each once more.
    const twice = new Set(all.slice(0, before).map((p) => p.seq));
    expect(lates.filter((p) => twice.has(p.seq)).length).toBeGreaterThanOrEqual(9);
    expect(all.filter((p) => p.pass)).toHaveLength(1);
    expect(lates.some((p) => p.pass)).toBe(true);
    expect(new Set(lates.map((p) => p.seq)).size).toBe(lates.length);
  });

  it('holds what a slow broker does not acknowledge, up to its memory, and then keeps', () => {
    const out = board('up', 'ms 30000', 'ack', 'ms 100', 'ms 2000');
    const live = packs(out).filter((p) => !p.late);
    // 16 kB of packs, then some kept until there is room again.
    expect(live.length).toBeLessThan(120);
    expect(packs(out).some((p) => p.late)).toBe(true);
  });

  it('takes its network and its broker over the cable, and starts anew', () => {
    expect(board('say wifi shed secret', 'ms 5', 'say broker 192.0.2.9 1884 rig pass', 'ms 5').slice(1)).toEqual([
      'restart',
      'restart',
    ]);
  });

  it('says what is missing where it cannot be built', () => {
    if (spawnSync('sh', ['-c', 'command -v arduino-cli']).status === 0) return;
    const ran = spawnSync('make', ['-s', 'wifi'], { cwd: 'firmware-bridge/firmware', encoding: 'utf8' });
    expect(ran.status).not.toBe(0);
    expect(ran.stdout).toContain('arduino-cli is missing. Install it, then');
  });
});
