import { createHash } from 'node:crypto';
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { readAuditSettings } from '../../core/audit/read-settings.ts';
import { type AuditSettings, defaultAuditSettings } from '../../core/audit/settings.ts';

/** A firm's own rules, where it has any. */
export const rulesName = 'audit-rules.json';

/** The rules, and a mark that differs when they do. Throws Problem: the file cannot be used. */
export function rulesOf(data: string): { settings: AuditSettings; mark: string } {
  const path = join(data, rulesName);
  if (!existsSync(path)) return { settings: defaultAuditSettings, mark: 'rules that ship, v1' };
  const text = readFileSync(path, 'utf8');
  const settings = readAuditSettings(text, path);
  const print = createHash('sha256').update(text).digest('hex').slice(0, 8);
  return { settings, mark: `${settings.name || 'rules of the firm'}, ${print}` };
}
