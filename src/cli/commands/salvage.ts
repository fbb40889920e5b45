import { type Command, dataOption } from '../command.ts';
import { dataFolder } from '../with-store.ts';

/** What can still be read of a damaged store, into a new one. */
export const salvage: Command = {
  name: 'salvage',
  summary: 'Make a new data folder from a damaged one, with all that can be read, and say what is lost.',
  args: [{ name: 'folder', about: 'the new data folder; absent or empty' }],
  options: [{ ...dataOption, about: 'the damaged data folder (default: .limpid in your home folder)' }],
  examples: ['limpid salvage mended --data damaged'],
  async run({ args: [to = ''], options, out }) {
    const { salvageInto } = await import('../../run/salvage.ts');
    const report = salvageInto(dataFolder(options), to);
    const whole = report.runs.filter((r) => r.state === 'whole');
    const lines = [`${whole.length} of ${report.runs.length} runs are whole, as they were.`];
    for (const r of report.runs) {
      if (r.state === 'whole') continue;
      lines.push(
        `${r.run}: ${r.links} of ${r.linksOf} entries and ${r.samples} of ${r.samplesOf} samples could be read; what does not fit its chain any more is a recording in ${r.rescued}.`,
      );
      for (const [fromS, toS] of r.lost) lines.push(`  lost: the samples from ${fromS} s to ${toS} s`);
    }
    for (const [table, rows] of Object.entries(report.unreadable))
      lines.push(`Could not be read: ${rows} or more rows of ${table}.`);
    lines.push(`The new store is ${to}; the damaged one stays as it is. Start with --data ${to}.`);
    out.result(report, lines.join('\n'));
    return 0;
  },
};
