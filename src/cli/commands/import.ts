import type { Store } from '../../store/store.ts';
import { type Command, dataOption } from '../command.ts';
import { dataFolder, withStore } from '../with-store.ts';

/** A recording folder into the store. */
export const importCommand: Command = {
  name: 'import',
  summary: 'Take a recording folder into the store; an export comes back as the very run that it was.',
  args: [{ name: 'recording', about: 'folder that holds recording.csv and context.json' }],
  options: [dataOption],
  examples: ['limpid import for-the-office'],
  async run({ args, options, out }) {
    const folder = args[0] ?? '';
    const { sealOf, takeInSealed } = await import('../../recording/sealed.ts');
    const data = dataFolder(options);
    const take = (store: Store): number => {
      const runId = takeInSealed(data, store, folder);
      const seal = sealOf(data, runId);
      const words = seal ? ` It is sealed, and intact; key ${seal.fingerprint}.` : '';
      out.result({ run: runId, folder, sealed: seal !== null }, `${folder} is kept as the run ${runId}.${words}`);
      return 0;
    };
    return await withStore(options, take, true);
  },
};
