import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { rules } from '../../../../src/core/audit/rules.ts';
import { rulesName, rulesOf } from '../../../../src/run/afterwards/firm-rules.ts';

const plain = mkdtempSync(join(tmpdir(), 'limpid-rules-'));
const own = mkdtempSync(join(tmpdir(), 'limpid-rules-'));
writeFileSync(join(own, rulesName), '{}');
afterAll(() => [plain, own].forEach((folder) => rmSync(folder, { recursive: true })));

describe.each([
  ['the rules that ship', plain],
  ['rules of the firm', own],
])('the mark of %s', (name, data) => {
  it('differs where an update brings another rule, or another threshold, so that every run is looked at again', () => {
    const { mark } = rulesOf(data);
    expect(mark.startsWith(name.replace(/^the /, ''))).toBe(true);
    expect(rulesOf(data).mark).toBe(mark);
    expect(rulesOf(data, rules.slice(1)).mark).not.toBe(mark);
    const [first, ...rest] = rules;
    const tuned = { ...first, thresholds: { x: { default: 9 } } };
    expect(rulesOf(data, [tuned, ...rest]).mark).not.toBe(mark);
  });
});
