import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { textLine } from '../../../firmware-bridge/wire/encode.ts';
import { openLine } from '../../../firmware-bridge/wire/open-line.ts';
import { WireReader } from '../../../firmware-bridge/wire/wire-reader.ts';
import { hostKit, noHost } from './build.ts';
import { mutated } from './mutated.ts';

const bytes = (text: string): Uint8Array => new TextEncoder().encode(text);

describe.skipIf(noHost)(`firmware core on the host${noHost ? ` (${noHost})` : ''}`, () => {
  it('prints decimals that read back as the very number, for any integer and scale', () => {
    const fixed = fc.tuple(fc.integer({ min: -2147483648, max: 2147483647 }), fc.integer({ min: 0, max: 9 }));
    const packs = fc.sample(fc.array(fixed, { minLength: 1, maxLength: 8 }), { numRuns: 2000, seed: 11 });
    const lines = hostKit(['encode'], `${packs.map((p) => p.flat().join(' ')).join('\n')}\n`)
      .trimEnd()
      .split('\n');
    expect(lines).toHaveLength(packs.length);
    for (const [i, line] of lines.entries()) {
      const json = line.slice(0, line.lastIndexOf('*'));
      const told = (JSON.parse(json) as { v: number }[]).map((r) => r.v);
      expect(told).toEqual((packs[i] ?? []).map(([value, decimals]) => Number(`${value}e-${decimals}`)));
      // The check sum is what the bridge expects.
      expect(openLine(bytes(line))).toMatchObject({ assured: true });
    }
  });

  it('makes packs that the bridge takes whole: every line of a minute, in order, none refused', () => {
    const reader = new WireReader();
    const packs = reader.push(bytes(hostKit(['run', '60'], '')));
    expect(packs.length).toBeGreaterThan(580);
    for (const [i, decoded] of packs.entries()) {
      if (!decoded.ok) throw new Error(decoded.reject.code);
      expect(decoded.pack.seq).toBe(i);
      expect(decoded.pack.rejects).toEqual([]);
      // The first pulses after stillness have no period before them yet.
      expect(decoded.pack.values.flowLpm).toBeCloseTo(i > 0 ? (100 / 450) * 60 : 0, 3);
      expect(decoded.pack.values.pressureBar).toBeCloseTo(((13107 / 65536 - 0.1) / 0.8) * 10, 2);
    }
    expect(packs[0]?.ok && packs[0].pack.hello?.firmware).toBe('0.1.0');
    expect(packs.filter((d) => d.ok && d.pack.pass)).toHaveLength(15);
  });

  it('leaves flow out where its settings say that there is no meter, and goes by their pulses a litre where there is one', () => {
    const flows = (pulses: string): (number | undefined)[] =>
      new WireReader()
        .push(bytes(hostKit(['run', '3', pulses], '')))
        .map((d) => (d.ok ? d.pack.values.flowLpm : Number.NaN));
    expect(new Set(flows('0'))).toEqual(new Set([undefined]));
    expect(flows('466').at(-1)).toBeCloseTo((100 / 466) * 60, 3);
  });

  it('understands every command that the bridge writes', () => {
    const rates = fc.sample(fc.integer({ min: 5, max: 200 }), { numRuns: 200, seed: 5 }).map((r) => r / 10);
    const lines = [
      ...rates.map((v) => [{ bn: 'urn:dev:ow:28aa_', n: 'do-rate', u: '1/s', v }]),
      [{ n: 'do-hello', vb: true }],
      [{ n: 'do-zero', vs: 'pressure' }],
      [{ n: 'do-blink', vb: true }],
    ];
    const text = lines.map((pack) => new TextDecoder().decode(textLine(JSON.stringify(pack)))).join('');
    const told = hostKit(['commands'], text).trimEnd().split('\n');
    expect(told).toEqual([...rates.map((v) => `rate ${v.toFixed(4)}`), 'hello', 'zero pressure', 'blink']);
  });

  it.each([
    ['[{"n":"do-rate","v":0}]', 'do-rate needs v from 0.5 to 20'],
    ['[{"n":"do-rate","v":1e1}]', 'not a pack of one record'],
    ['[{"n":"do-hello","vb":true}]*0000', 'CRC does not fit the line'],
    ['[{"n":"do-hello","vb":true}]*12ab', 'CRC is not four upper-case hex digits'],
    ['[{"n":"do-hello"}]', 'do-hello needs vb true'],
    ['[{"n":"do-zero","vs":""}]', 'do-zero needs vs with a channel'],
    ['[{"n":"do-fly","vb":true}]', 'no such command'],
    ['[{"n":"do-hello","vb":true},{"n":"do-blink","vb":true}]', 'not a pack of one record'],
    [`[{"n":"${'x'.repeat(200)}"}]`, 'line longer than 128 bytes'],
  ])('refuses %s, saying why', (line, why) => {
    expect(hostKit(['commands'], `${line}\n`).trimEnd()).toBe(`refused ${why}`);
  });

  it('survives mutated command lines under the sanitizers', () => {
    expect(mutated(20_000, 3)).toBe(20_000);
  });
});
