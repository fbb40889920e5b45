import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { drawWiring, pinTable, readWiring } from '../../.config/wiring.ts';

const wiring = readWiring();

describe('build guide of the kit', () => {
  it('names the very pins of the firmware', () => {
    const header = readFileSync('firmware-bridge/firmware/boards/avr/pins.hpp', 'utf8');
    const defined = [...header.matchAll(/#define (\w+) (\w+)/g)].map((m) => [m[1] ?? '', m[2] ?? ''] as const);
    const listed = wiring.wires.filter((w) => w.define !== null).map((w) => [w.define ?? '', w.bit ?? ''] as const);
    expect(new Map(listed)).toEqual(new Map(defined));
  });

  it('draws and tabulates the same list', () => {
    expect(readFileSync('docs/kit/wiring.svg', 'utf8')).toBe(drawWiring(wiring));
    expect(readFileSync('docs/kit/README.md', 'utf8')).toContain(pinTable(wiring));
  });
});
