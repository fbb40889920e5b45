import { say } from '../../core/message/message.ts';
import type { Store } from '../../store/store.ts';
import { type Command, dataOption, type Input } from '../command.ts';
import { dataFolder, withStore } from '../with-store.ts';

/** Recordings into the store. */
export const importCommand: Command = {
  name: 'import',
  summary: 'Take a recording folder into the store; an export comes back as the very run that it was.',
  args: [{ name: 'recording', about: 'folder that holds recording.csv and context.json, or a zip of one' }],
  options: [
    { flags: '--all', about: 'the folder holds many recordings, as folders or zips: take in each that can be used' },
    dataOption,
  ],
  examples: ['limpid import for-the-office', 'limpid import old-run.zip', 'limpid import --all recordings'],
  async run(input) {
    const { args, options } = input;
    const folder = args[0] ?? '';
    const work = options['all'] === true ? takeEvery : takeOne;
    return await withStore(options, (store) => work(input, store, folder), true);
  },
};

async function takeOne({ options, out }: Input, store: Store, folder: string): Promise<number> {
  const { sealOf, takeInSealed } = await import('../../recording/sealed.ts');
  const { takeInZip } = await import('../../recording/bulk.ts');
  const data = dataFolder(options);
  const isZip = /\.zip$/i.test(folder);
  const remarks: { code: string; text: string }[] = [];
  const take = isZip ? takeInZip : takeInSealed;
  const before = store.runCount();
  const runId = take(data, store, folder, (remark) => remarks.push({ code: remark.code, text: say(remark) }));
  for (const { text } of remarks) out.say(text);
  const known = store.runCount() === before;
  const seal = sealOf(data, runId);
  const kept = known ? `${folder} was here already, as the run ${runId}.` : `${folder} is kept as the run ${runId}.`;
  const words = seal ? `${kept} It is sealed, and intact; key ${seal.fingerprint}.` : kept;
  out.result({ run: runId, folder, known, sealed: seal !== null, remarks }, words);
  return 0;
}

async function takeEvery({ options, out }: Input, store: Store, folder: string): Promise<number> {
  const { takeInAll } = await import('../../recording/bulk.ts');
  const tell = (done: number, total: number, name: string): void => out.say(`${done} of ${total}: ${name}`);
  const { taken, refused } = await takeInAll(dataFolder(options), store, folder, tell);
  const known = taken.filter((t) => t.known).length;
  for (const { from, remarks } of taken) for (const remark of remarks) out.say(`${from}: ${remark}`);
  const lines = [
    `Taken in: ${taken.length - known}; here already: ${known}; refused: ${refused.length}.`,
    ...refused.map((r) => `${r.from} was refused. ${r.why}`),
  ];
  out.result({ folder, taken, refused }, lines.join('\n'));
  return refused.length === 0 ? 0 : 1;
}
