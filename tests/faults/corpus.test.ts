import { readdirSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { corpus, keptOf, targets } from './fuzz-targets.ts';

describe('every input that is kept', () => {
  it('belongs to something that reads it', () => {
    const names = targets.map((t) => t.name);
    expect(readdirSync(corpus).filter((folder) => !names.includes(folder) && folder !== 'mqtt')).toEqual([]);
  });

  it.each(targets)('is read by $name, or refused by a reason', ({ name, seeds, read }) => {
    const all = [...seeds.map((bytes, i) => ({ file: `seed ${i}`, bytes })), ...keptOf(name)];
    const wrong = all.flatMap(({ file, bytes }) => {
      try {
        read(bytes);
        return [];
      } catch (error) {
        return [`${file}: ${String(error)}`];
      }
    });
    expect(wrong).toEqual([]);
  });
});
