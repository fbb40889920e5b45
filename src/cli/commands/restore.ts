import { type Command, dataOption } from '../command.ts';
import { dataFolder } from '../with-store.ts';

/** A data folder made anew from a backup. */
export const restore: Command = {
  name: 'restore',
  summary: 'Make the data folder anew from a backup, after checking every file of it.',
  args: [{ name: 'folder', about: 'a backup' }],
  options: [{ ...dataOption, about: 'where to; absent or empty (default: .limpid in your home folder)' }],
  examples: ['limpid restore /mnt/stick/limpid-2026-01-02', 'limpid restore backup-folder --data other-folder'],
  async run({ args: [from = ''], options, out }) {
    const { restoreBackup } = await import('../../run/backup.ts');
    const data = dataFolder(options);
    const done = restoreBackup(from, data);
    // Opened once: brought to the newest shape, and its integrity checked.
    const { openStore } = await import('../../store/open.ts');
    openStore(data).close();
    out.result(
      { folder: data, ...done },
      `${done.runs} runs in ${done.files} files are restored to ${data}. limpid start goes on there.`,
    );
    return 0;
  },
};
