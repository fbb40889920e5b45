import { existsSync, readFileSync } from 'node:fs';
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

  it('lists the parts as a table to read and one to calculate with, and each file that its manifest names is there', () => {
    const readme = readFileSync('docs/kit/README.md', 'utf8');
    const [head, ...parts] = readFileSync('docs/kit/parts.csv', 'utf8').trimEnd().split('\n');
    expect(head).toBe('part,quantity,what to look for');
    const table = [...readme.matchAll(/^\| ([^|]+) \| ([^|]+) \|$/gm)].map((m) => `${m[1]}: ${m[2]}`);
    for (const row of parts) {
      const cells = /^([^,"]+),\d+,"?(.*?)"?$/.exec(row);
      expect(table).toContain(`${cells?.[1]}: ${cells?.[2]?.replaceAll('""', '"')}`);
    }
    const manifest = readFileSync('docs/kit/okh.toml', 'utf8');
    const named = [...manifest.matchAll(/"((?:\.\.\/)*[\w./-]+\.(?:md|csv|json|svg)|\.\.\/[\w./-]+)"/g)].map(
      (m) => m[1] ?? '',
    );
    expect(named.length).toBeGreaterThan(6);
    expect(named.filter((path) => !existsSync(`docs/kit/${path}`))).toEqual([]);
  });

  it('draws and tabulates the same list', () => {
    expect(readFileSync('docs/kit/wiring.svg', 'utf8')).toBe(drawWiring(wiring));
    expect(readFileSync('docs/kit/README.md', 'utf8')).toContain(pinTable(wiring));
  });
});
