import { type Command, dataOption } from '../command.ts';
import { dataFolder, withStore } from '../with-store.ts';

/** The whole data folder into another place. */
export const backup: Command = {
  name: 'backup',
  summary: 'Copy everything that is kept (records, seals, keys, settings) into a new folder.',
  args: [{ name: 'folder', about: 'where to; absent or empty' }],
  options: [dataOption],
  examples: ['limpid backup /mnt/stick/limpid-2026-01-02'],
  run: ({ args: [to = ''], options, out }) =>
    withStore(options, async (store) => {
      const { backUp } = await import('../../run/backup.ts');
      const done = backUp(store, dataFolder(options), to, new Date().toISOString());
      out.result(
        { folder: to, ...done },
        `${done.runs} runs in ${done.files} files, ${(done.bytes / 1e6).toFixed(1)} MB, are copied to ${to}. The signing key is among them: keep the copy as you keep a key.`,
      );
      return 0;
    }),
};
