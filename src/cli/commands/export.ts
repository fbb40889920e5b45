import { Problem } from '../../core/message/problem.ts';
import { type Command, dataOption } from '../command.ts';
import { dataFolder, withStore } from '../with-store.ts';

/** A run of the store as a folder of plain files. */
export const exportCommand: Command = {
  name: 'export',
  summary: 'Write a run as a folder of plain files that a person can open and that imports again without loss.',
  args: [
    { name: 'run', about: 'id of the run (limpid runs lists them)' },
    { name: 'folder', about: 'where to write; made if absent' },
  ],
  options: [dataOption],
  examples: ['limpid export run-20260102-0304 for-the-office'],
  async run({ args, options, out }) {
    const [runId = '', folder = ''] = args;
    const { exportRun } = await import('../../recording/recording.ts');
    const { copySealed, sealedFolder, sealOf } = await import('../../recording/sealed.ts');
    const data = dataFolder(options);
    return await withStore(options, (store) => {
      const run = store.openRun(runId);
      if (!run) {
        const known = store.runs().map((r) => r.runId);
        throw new Problem('run.unknown', { runId, known: known.slice(-5).join(', ') || 'none' });
      }
      const isSealed = sealOf(data, runId) !== null;
      // A sealed run leaves as the very files that were signed.
      if (isSealed) copySealed(sealedFolder(data, runId), folder, runId);
      else exportRun(run, folder);
      out.result(
        { run: runId, folder, sealed: isSealed },
        `The run ${runId} is written to ${folder}${isSealed ? ', with its seal' : ''}.`,
      );
      return 0;
    });
  },
};
