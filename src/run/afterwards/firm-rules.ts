import { createHash } from 'node:crypto';
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { readAuditSettings } from '../../core/audit/read-settings.ts';
import { rules } from '../../core/audit/rules.ts';
import { type AuditSettings, defaultAuditSettings } from '../../core/audit/settings.ts';

/** A firm's own rules, where it has any. */
export const rulesName = 'audit-rules.json';

/** The rules, and a mark that differs when they do. Throws Problem: the file cannot be used. */
export function rulesOf(data: string, shipped: readonly object[] = rules): { settings: AuditSettings; mark: string } {
  const path = join(data, rulesName);
  if (!existsSync(path))
    return { settings: defaultAuditSettings, mark: `rules that ship, ${print(JSON.stringify(shipped))}` };
  const text = readFileSync(path, 'utf8');
  const settings = readAuditSettings(text, path);
  // A firm tunes the rules that ship: an update of the program that brings others changes what its runs are held to, too.
  return { settings, mark: `${settings.name || 'rules of the firm'}, ${print(JSON.stringify(shipped) + text)}` };
}

function print(text: string): string {
  return createHash('sha256').update(text).digest('hex').slice(0, 8);
}
