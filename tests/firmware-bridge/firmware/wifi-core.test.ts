import { spawnSync } from 'node:child_process';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
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

  it('has a main that is sound C++ against the names of its toolchain', () => {
    const here = 'tests/firmware-bridge/firmware/wifi-board';
    const firmware = 'firmware-bridge/firmware';
    const paths = [`${firmware}/kit-core`, `${firmware}/boards/wifi`, here].flatMap((path) => ['-I', path]);
    const words = ['-std=c++14', '-fsyntax-only', '-Wall', '-Wextra', '-Werror', ...paths, '-x', 'c++'];
    const ran = spawnSync('g++', [...words, `${firmware}/boards/wifi/wifi.ino`], { encoding: 'utf8' });
    expect(ran.stderr).toBe('');
    expect(ran.status).toBe(0);
  });

  it('says what is missing where it cannot be built', () => {
    if (spawnSync('sh', ['-c', 'command -v arduino-cli']).status === 0) return;
    const ran = spawnSync('make', ['-s', 'wifi'], { cwd: 'firmware-bridge/firmware', encoding: 'utf8' });
    expect(ran.status).not.toBe(0);
    expect(ran.stdout).toContain('arduino-cli is missing. Install it, then');
  });
});
