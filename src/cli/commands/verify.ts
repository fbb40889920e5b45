import { say } from '../../core/message/message.ts';
import type { Command } from '../command.ts';

/** Is a recording as it was when it was written? */
export const verify: Command = {
  name: 'verify',
  summary: 'Hold a recording against its chain of hashes: is it as it was when it was written?',
  args: [{ name: 'recording', about: 'folder of an exported run' }],
  options: [],
  examples: ['limpid verify for-the-office'],
  async run({ args, out }) {
    const folder = args[0] ?? '';
    const { verifyRecording } = await import('../../recording/recording.ts');
    const check = verifyRecording(folder);
    const faults = check.faults.map((f) => ({ code: f.code, text: say(f) }));
    const remarks = check.remarks.map((r) => ({ code: r.code, text: say(r) }));
    for (const remark of remarks) out.say(remark.text);
    const { rows, chained } = check.samples;
    const verdict = check.sound
      ? `Intact: ${check.chain?.intact ? check.chain.end.count : 0} entries chained, ${chained} of ${rows} samples covered.`
      : check.chain === null
        ? `Not chained: ${folder} holds no chain.jsonl, so nothing can be proved of it.`
        : `Not intact: ${faults.length} found.`;
    out.result(
      { sound: check.sound, chained: check.chain !== null, samples: { rows, chained }, faults, remarks },
      [verdict, ...faults.map((f) => `  ${f.text}`)].join('\n'),
    );
    return check.sound ? 0 : 1;
  },
};
