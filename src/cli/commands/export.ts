import { rmSync } from 'node:fs';
import { join } from 'node:path';
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
  options: [
    { flags: '--without-details', about: 'leave out the names of the client and the place; the copy is still proved' },
    dataOption,
  ],
  examples: [
    'limpid export run-20260102-0304 for-the-office',
    'limpid export run-20260102-0304 to-share --without-details',
  ],
  async run({ args, options, out }) {
    const withDetails = options['withoutDetails'] !== true;
    const [runId = '', folder = ''] = args;
    const { exportRun } = await import('../../recording/recording.ts');
    const { detailsFile, runFolder } = await import('../../recording/run-files.ts');
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
      if (isSealed) copySealed(sealedFolder(data, runId), folder, runId, withDetails);
      else {
        exportRun(run, folder, runFolder(data, runId));
        if (!withDetails) rmSync(join(folder, detailsFile), { force: true });
      }
      out.result(
        { run: runId, folder, sealed: isSealed },
        `The run ${runId} is written to ${folder}${isSealed ? ', with its seal' : ''}${withDetails ? '' : ', without the names of client and place'}.`,
      );
      return 0;
    });
  },
};
