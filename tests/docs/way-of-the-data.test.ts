import { existsSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';

const page = readFileSync('docs/way-of-the-data.md', 'utf8');

/** `file` `name` in the tables, and `name` (`file`) in the text. */
function claims(): { file: string; name: string }[] {
  const tables = [...page.matchAll(/`([\w/.-]+\.(?:tsx?|cpp))`\s+`([\w.:]+)`/g)].map((m) => ({
    file: m[1],
    name: m[2],
  }));
  const text = [...page.matchAll(/`([\w.:]+)`\s+\(`([\w/.-]+)`\)/g)].map((m) => ({ file: m[2], name: m[1] }));
  return [...tables, ...text].map(({ file = '', name = '' }) => ({ file, name }));
}

describe('docs/way-of-the-data.md', () => {
  it('names at least thirty places', () => {
    expect(claims().length).toBeGreaterThan(29);
  });

  it.each(claims())('$file exists and holds $name', ({ file, name }) => {
    expect(existsSync(file)).toBe(true);
    const text = readFileSync(file, 'utf8');
    for (const word of name.split(/\.|::/)) expect(text).toContain(word);
  });
});
