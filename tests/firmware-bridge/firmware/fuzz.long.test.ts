import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { commandProblem, encodeCommand, type KitCommand } from '../../../firmware-bridge/wire/command.ts';
import { WireReader } from '../../../firmware-bridge/wire/wire-reader.ts';
import { channels } from '../../../src/core/quantity/channels.ts';
import { Bench } from './bench.ts';
import { hostKit, noAvr, noHost } from './build.ts';
import { mutated } from './mutated.ts';

describe.skipIf(noHost)(`firmware core, at length${noHost ? ` (${noHost})` : ''}`, () => {
  it('survives two million mutated command lines under the sanitizers', () => {
    let lines = 0;
    for (let round = 0; round < 10; round++) lines += mutated(200_000, 100 + round);
    console.log(`command reader: ${lines} mutated lines under address and undefined-behaviour sanitizers, no fault`);
    expect(lines).toBe(2_000_000);
  });

  it('makes an hour of packs that the bridge takes whole', () => {
    const reader = new WireReader();
    const packs = reader.push(new TextEncoder().encode(hostKit(['run', '3600'], '')));
    expect(packs.every((d) => d.ok && d.pack.rejects.length === 0)).toBe(true);
    expect(packs.length).toBeGreaterThan(35_900);
    expect(reader.counters).toMatchObject({ badLines: 0, gaps: 0, duplicates: 0 });
  });

  it('understands every command that the bridge can write, twenty thousand of them', () => {
    const command: fc.Arbitrary<KitCommand> = fc.oneof(
      fc.constant<KitCommand>({ kind: 'hello' }),
      fc.constant<KitCommand>({ kind: 'blink' }),
      fc.integer({ min: 5, max: 200 }).map((d): KitCommand => ({ kind: 'rate', hz: d / 10 })),
      fc.constantFrom(...channels.map((c) => c.name)).map((channel): KitCommand => ({ kind: 'zero', channel })),
    );
    const all = fc.sample(command, { numRuns: 20_000, seed: 17 });
    expect(all.every((c) => commandProblem(c) === null)).toBe(true);
    const told = hostKit(['commands'], Buffer.concat(all.map(encodeCommand)).toString('utf8'))
      .trimEnd()
      .split('\n');
    expect(told).toEqual(
      all.map((c) => {
        if (c.kind === 'rate') return `rate ${c.hz.toFixed(4)}`;
        return c.kind === 'zero' ? `zero ${c.channel}` : c.kind;
      }),
    );
  });
});

describe.skipIf(noAvr)(`the very binary, reset at random instants${noAvr ? ` (${noAvr})` : ''}`, () => {
  it('comes back each time: boot never falls, settings stay, and no torn line is taken for a reading', () => {
    const b = new Bench();
    b.run(1.5);
    b.command('[{"n":"do-rate","u":"1/s","v":20}]');
    b.run(1);
    let state = 12345;
    const random = (): number => {
      state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
      return state / 4294967296;
    };
    const resets = 50;
    for (let i = 0; i < resets; i++) {
      // Half of them in the first milliseconds, while the start is being counted in EEPROM.
      b.chip.run(random() < 0.5 ? 0.03 * random() : 1 + 0.6 * random());
      b.chip.reset();
    }
    const pack = b.run(2);
    const boots = b.packs.map((p) => p.boot);
    expect(boots.every((boot, i) => i === 0 || boot >= (boots[i - 1] ?? 0))).toBe(true);
    expect(pack.boot).toBeGreaterThan(resets / 4);
    expect(pack.boot).toBeLessThanOrEqual(resets + 1);
    expect(b.packs.filter((p) => p.hello).at(-1)?.hello?.rateHz).toBe(20);
    const told = (read: (p: (typeof b.packs)[number]) => number | undefined): number[] =>
      b.packs.map(read).filter((v) => v !== undefined);
    expect(told((p) => p.values.turbidityNtu).filter((v) => Math.abs(v - 61.5) >= 10)).toEqual([]);
    expect(told((p) => p.values.returnC).filter((v) => v !== -10.125 && v !== 85)).toEqual([]);
    console.log(
      `avr: ${resets} resets, ${b.packs.length} packs taken, boot ${pack.boot}, ${b.refused} torn lines refused`,
    );
  });
});
