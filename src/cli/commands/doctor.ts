import type { Command } from '../command.ts';
import { dataOption } from '../command.ts';
import { readConfig } from '../../run/config.ts';

/** One thing looked at. */
export interface Check {
  readonly id: string;
  readonly state: 'ok' | 'fix' | 'unknown';
  /** What was found. */
  readonly text: string;
  /** What to do; '' when all is well. */
  readonly next: string;
}

/** Looks at all that a bridge needs. */
export const doctor: Command = {
  name: 'doctor',
  summary: 'Look at all that a bridge needs and at what is unsafe, and say what to do.',
  args: [],
  options: [dataOption, { flags: '--port <number>', about: 'port of the pages to look at' }],
  examples: ['limpid doctor', 'limpid doctor --json > for-support.json'],
  async run({ options, out, webRoot }) {
    const config = readConfig(options, process.env);
    const look = await import('../doctor-checks.ts');
    const { safetyChecks } = await import('../doctor-safe.ts');
    const checks: Check[] = [
      look.nodeCheck(process.versions.node),
      look.pagesCheck(webRoot),
      look.folderCheck(config.data),
      look.spaceCheck(config.data),
      await look.storeCheck(config.data),
      await look.portCheck(config.port, config.host),
      ...(await look.serialChecks()),
      ...safetyChecks(config, process.getuid?.() ?? null),
    ];
    const words = { ok: 'ok     ', fix: 'FIX    ', unknown: 'unknown' };
    const lines = checks.flatMap((c) => [`${words[c.state]}  ${c.text}`, ...(c.next ? [`         ${c.next}`] : [])]);
    const toFix = checks.filter((c) => c.state === 'fix').length;
    lines.push('', toFix === 0 ? 'Nothing to fix.' : `${toFix} to fix.`);
    out.result({ checks, to_fix: toFix }, lines.join('\n'));
    return toFix === 0 ? 0 : 1;
  },
};
