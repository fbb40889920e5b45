import { say } from '../../core/message/message.ts';
import { Problem } from '../../core/message/problem.ts';
import type { StoredCheck } from '../../recording/stored.ts';
import type { Store } from '../../store/store.ts';
import { type Command, dataOption, type Input, WrongUse } from '../command.ts';
import { dataFolder, withStore } from '../with-store.ts';

/** A run of the store, or all of them, as folders of plain files. */
export const exportCommand: Command = {
  name: 'export',
  summary: 'Write a run as a folder of plain files that a person can open and that imports again without loss.',
  args: [
    { name: 'run', about: 'id of the run (limpid runs lists them); with --all the folder', optional: true },
    { name: 'folder', about: 'where to write; made if absent. With a name that ends in .zip: one zip', optional: true },
  ],
  options: [
    { flags: '--all', about: 'every run, each into a folder of its own; goes on where an export was cut off' },
    { flags: '--without-details', about: 'leave out the names of the client and the place; the copy is still proved' },
    dataOption,
  ],
  examples: [
    'limpid export run-20260102-0304 for-the-office',
    'limpid export run-20260102-0304 for-the-office.zip',
    'limpid export run-20260102-0304 to-share --without-details',
    'limpid export --all every-run',
  ],
  async run(input) {
    const { args, options } = input;
    const [first = '', second = ''] = args;
    if (options['all'] === true) {
      if (first === '' || second !== '') throw new WrongUse('With --all name one folder: limpid export --all FOLDER');
      return await withStore(options, (store) => exportEvery(input, store, first));
    }
    if (first === '' || second === '') throw new WrongUse('Which run, and where to? limpid export RUN FOLDER');
    return await withStore(options, (store) => exportThis(input, store, first, second));
  },
};

async function exportThis({ options, out }: Input, store: Store, runId: string, folder: string): Promise<number> {
  const { exportOne, exportZip } = await import('../../recording/bulk.ts');
  const { sealNotHere, sealOf } = await import('../../recording/sealed.ts');
  const { verifyStored } = await import('../../recording/stored.ts');
  const withDetails = options['withoutDetails'] !== true;
  const data = dataFolder(options);
  const run = store.openRun(runId);
  if (!run) {
    const known = store.runs().map((r) => r.runId);
    throw new Problem('run.unknown', { runId, known: known.slice(-5).join(', ') || 'none' });
  }
  if (/\.zip$/i.test(folder)) exportZip(data, run, folder, withDetails);
  else exportOne(data, run, folder, withDetails);
  const sealed = sealOf(data, runId) !== null;
  // It is written all the same, so that nothing is lost; but whoever passes it on must know.
  const check = verifyStored(data, run);
  const faults = check.faults.map((f) => ({ code: f.code, text: say(f) }));
  if (faults.length > 0) out.say(changedWords(runId, check));
  const gone = check.sealed ? null : sealNotHere(data, run);
  if (gone) out.say(say(gone));
  out.result(
    { run: runId, folder, sealed, faults },
    `The run ${runId} is written to ${folder}${sealed ? ', with its seal' : ''}${withDetails ? '' : ', without the names of client and place'}.`,
  );
  return 0;
}

/** The first fault in words, how many more there are, and whether the copy bears them too. */
function changedWords(runId: string, { faults, sealed }: StoredCheck): string {
  const [first, ...more] = faults.map(say);
  const rest = more.length > 0 ? ` ${more.length} more; limpid report ${runId} lists them under "Seal".` : '';
  const what = sealed?.sound
    ? 'was changed in the store; what is written is its sealed record, and that is intact.'
    : 'was changed, and nothing in it is proved.';
  return `The run ${runId} ${what} ${first ?? ''}${rest}`;
}

async function exportEvery({ options, out }: Input, store: Store, folder: string): Promise<number> {
  const { exportAll } = await import('../../recording/bulk.ts');
  const { verifyStored } = await import('../../recording/stored.ts');
  const data = dataFolder(options);
  const runIds = store.runs().map((r) => r.runId);
  const withDetails = options['withoutDetails'] !== true;
  const changed: { runId: string; why: string }[] = [];
  const tell = (done: number, total: number, runId: string, isNew: boolean): void => {
    out.say(`${done} of ${total}: ${runId}`);
    const run = isNew ? store.openRun(runId) : null;
    const check = run && verifyStored(data, run);
    if (!check || check.faults.length === 0) return;
    const why = changedWords(runId, check);
    changed.push({ runId, why });
    out.say(why);
  };
  const { written, kept, refused } = await exportAll(data, store, runIds, folder, tell, withDetails);
  const lines = [
    `${written.length} of ${runIds.length} runs are written to ${folder}; ${kept.length} were there already.`,
    ...refused.map((r) => `${r.runId} was not written. ${r.why}`),
  ];
  out.result({ folder, written, kept, changed, refused }, lines.join('\n'));
  return refused.length === 0 ? 0 : 1;
}
