import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { figureList } from '../../src/core/audit/figures.ts';
import { measures } from '../../src/core/audit/measures.ts';
import { readAuditSettings } from '../../src/core/audit/read-settings.ts';
import { rules } from '../../src/core/audit/rules.ts';

const text = readFileSync('docs/audit.md', 'utf8');

describe('docs/audit.md', () => {
  it('names every rule with its severity, its title and its thresholds, and none that there is not', () => {
    for (const rule of rules) {
      const row = text.split('\n').find((line) => line.startsWith(`| \`${rule.id}\` |`)) ?? '';
      expect(row).toContain(`| ${rule.severity} | ${rule.title} |`);
      for (const [name, t] of Object.entries(rule.thresholds))
        expect(row).toContain(`\`${name}\` ${t.default} ${t.unit}`);
    }
    const table = text.split('### The rules')[1]?.split('### ')[0] ?? '';
    expect([...table.matchAll(/^\| `/gm)]).toHaveLength(rules.length);
  });

  it('names every figure and every measure with its unit', () => {
    for (const [name, { title, unit }] of [...Object.entries(figureList), ...Object.entries(measures)])
      expect(text).toContain(`| \`${name}\` | ${title} | ${unit || '–'} |`);
  });

  it('shows a rules file that is taken', () => {
    const example = /```json\n([\s\S]*?)```/.exec(text)?.[1] ?? '';
    expect(readAuditSettings(example, 'docs/audit.md').own).toHaveLength(1);
  });
});
