import type { Store } from '../../store/store.ts';
import { type Command, dataOption } from '../command.ts';
import { withStore } from '../with-store.ts';

/** A recording folder into the store. */
export const importCommand: Command = {
  name: 'import',
  summary: 'Take a recording folder into the store; an export comes back as the very run that it was.',
  args: [{ name: 'recording', about: 'folder that holds recording.csv and context.json' }],
  options: [dataOption],
  examples: ['limpid import for-the-office'],
  async run({ args, options, out }) {
    const folder = args[0] ?? '';
    const { importRecording } = await import('../../recording/recording.ts');
    const take = (store: Store): number => {
      const runId = importRecording(store, folder);
      out.result({ run: runId, folder }, `${folder} is kept as the run ${runId}.`);
      return 0;
    };
    return await withStore(options, take, true);
  },
};
