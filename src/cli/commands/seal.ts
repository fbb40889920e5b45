import { say } from '../../core/message/message.ts';
import { Problem } from '../../core/message/problem.ts';
import { sealsCutShort } from '../../core/seal/named.ts';
import { fingerprint, inFours } from '../../core/seal/seal.ts';
import type { Store } from '../../store/store.ts';
import { type Command, dataOption, type Input, textOption, WrongUse } from '../command.ts';
import { dataFolder, withStore } from '../with-store.ts';

/** Sign a run's record, or say something beside a signed one. */
export const seal: Command = {
  name: 'seal',
  summary: 'Sign the record of a run that was handed over; from then on it never changes.',
  args: [{ name: 'run', about: 'id of the run (limpid runs lists them)', optional: true }],
  options: [
    { flags: '--by <name>', about: 'who hands over; stands on the report' },
    { flags: '--unfinished', about: 'seal a run that was not handed over, as it stands' },
    { flags: '--comment <text>', about: 'put a comment beside a run that is sealed' },
    { flags: '--new-key', about: 'make a new signing key; seals by the old one stay known' },
    dataOption,
  ],
  examples: [
    'limpid seal run-20260102-0304 --by "A. Engineer"',
    'limpid seal run-20260102-0304 --by "The office" --comment "Visit 2 looked at again."',
    'limpid seal --new-key',
  ],
  async run(input) {
    const { args, options } = input;
    if (options['newKey'] === true) return await newKey(input);
    const runId = args[0] ?? '';
    if (runId === '') throw new WrongUse('Which run? limpid runs lists them.');
    const by = textOption(options, 'by')?.trim() ?? '';
    if (by === '') throw new WrongUse('Who? Give a name with --by.');
    const comment = textOption(options, 'comment');
    if (comment !== undefined) return await addOne(input, runId, by, comment);
    return await withStore(options, (store) => sealOne(input, store, runId, by));
  },
};

async function newKey({ options, out }: Input): Promise<number> {
  const { rotateKey } = await import('../../recording/signing-key.ts');
  const { sha256 } = await import('../../store/rows.ts');
  const { key } = rotateKey(dataFolder(options));
  const print = fingerprint(key, sha256);
  out.result({ key, fingerprint: print }, `The key is now ${print}. Seals by the one before stay known here.`);
  return 0;
}

async function addOne({ options, out }: Input, runId: string, by: string, text: string): Promise<number> {
  const { addComment } = await import('../../recording/sealed.ts');
  addComment(dataFolder(options), runId, { by, text, written_at: new Date().toISOString() });
  out.result({ run: runId }, `The comment stands beside the sealed record of ${runId}.`);
  return 0;
}

async function sealOne({ options, out }: Input, store: Store, runId: string, by: string): Promise<number> {
  const { sealRun, sealOf } = await import('../../recording/sealed.ts');
  const { readyToSeal } = await import('../../run/seal-when.ts');
  const run = store.openRun(runId);
  if (!run) {
    const known = store.runs().map((r) => r.runId);
    throw new Problem('run.unknown', { runId, known: known.slice(-5).join(', ') || 'none' });
  }
  const data = dataFolder(options);
  if (options['unfinished'] !== true && sealOf(data, runId) === null) readyToSeal(run);
  const wallAt = new Date().toISOString();
  const made = sealRun(data, run, { by, who: 'loopback', timeS: run.lastTimeS(), wallAt });
  const print = sealOf(data, runId)?.fingerprint ?? '';
  const words = [
    `The run ${runId} is sealed${made.simulated ? ', as one with simulated water' : ''}. It takes nothing more.`,
    ...sealsCutShort(run.events()).map((named) => say({ code: 'seal-first-cut-short', params: { ...named } })),
    `  Key:         ${print}`,
    `  Last entry:  ${inFours(made.head)}`,
    `limpid report ${runId} --out report.pdf writes the report; limpid export ${runId} FOLDER the record with its seal.`,
  ];
  out.result(
    { run: runId, key: made.key, fingerprint: print, head: made.head, sealed_at: made.sealed_at },
    words.join('\n'),
  );
  return 0;
}
