import { utcOf } from '../../core/audit/wall-time.ts';
import { say } from '../../core/message/message.ts';
import { Problem } from '../../core/message/problem.ts';
import { sealNamed } from '../../core/seal/named.ts';
import type { RecordingCheck } from '../../recording/recording.ts';
import { type Command, dataOption, textOption } from '../command.ts';
import { dataFolder } from '../with-store.ts';

/** Is a recording as it was when it was written, and who signed it? */
export const verify: Command = {
  name: 'verify',
  summary: 'Hold a recording against its seal and its chain of hashes: is it as it was, and who signed it?',
  args: [{ name: 'recording', about: 'folder of an exported run' }],
  options: [
    { flags: '--keys <file>', about: 'trusted keys; a seal by any other then counts as not proved' },
    dataOption,
  ],
  examples: ['limpid verify for-the-office', 'limpid verify for-the-office --keys our-rigs.txt'],
  async run({ args, options, out }) {
    const folder = args[0] ?? '';
    const { readVerified } = await import('../../recording/recording.ts');
    const { knownKeys } = await import('../../recording/sealed.ts');
    const keys = textOption(options, 'keys');
    const { check, read } = readVerified(folder);
    const print = check.seal.fingerprint;
    const name = print === '' ? undefined : knownKeys(dataFolder(options), keys).get(print.replaceAll(' ', ''));
    const faults = check.faults.map((f) => ({ code: f.code, text: say(f) }));
    const remarks = check.remarks.map((r) => ({ code: r.code, text: say(r) }));
    for (const remark of remarks) out.say(remark.text);
    const { rows, chained } = check.samples;
    const sealed = {
      state: check.seal.state,
      by: read instanceof Problem ? '' : (sealNamed(read.chain?.links.at(-1))?.by ?? ''),
      fingerprint: print,
      known: name !== undefined,
      name: name ?? '',
      simulated: check.seal.seal?.simulated ?? false,
      sealed_at: check.seal.seal?.sealed_at ?? '',
    };
    // Whoever names the keys to trust asks for one of them.
    const isTrusted = keys === undefined || (sealed.state === 'good' && sealed.known);
    const untrusted = check.sound && !isTrusted ? [`Not proved: it is sealed by none of the keys in ${keys}.`] : [];
    out.result(
      { sound: check.sound, chained: check.chain !== null, seal: sealed, samples: { rows, chained }, faults, remarks },
      [verdictWords(check, folder), ...faults.map((f) => `  ${f.text}`), sealWords(sealed), ...untrusted].join('\n'),
    );
    return check.sound && isTrusted ? 0 : 1;
  },
};

function verdictWords(check: RecordingCheck, folder: string): string {
  const { rows, chained } = check.samples;
  if (check.sound)
    return `Intact: ${check.chain?.intact ? check.chain.end.count : 0} entries chained, ${chained} of ${rows} samples covered.`;
  if (check.chain === null && check.seal.state === 'unsigned')
    return `Not chained: ${folder} holds no chain.jsonl, so nothing can be proved of it.`;
  return `Not intact: ${check.faults.length} found.`;
}

function sealWords(sealed: {
  readonly state: RecordingCheck['seal']['state'];
  /** Who sealed, as the chain's last entry says. */
  readonly by: string;
  readonly fingerprint: string;
  readonly known: boolean;
  readonly name: string;
  readonly simulated: boolean;
  readonly sealed_at: string;
}): string {
  if (sealed.state === 'unsigned') return 'Unsigned: there is no seal.json.';
  const key = sealed.known
    ? `a known key (${sealed.name || 'no name'})`
    : 'a key that is not known here: compare it with the report';
  const water = sealed.simulated ? ' The water was simulated.' : '';
  if (sealed.state === 'broken')
    return `Sealed, and the seal does not fit. Key: ${sealed.fingerprint || 'not readable'}.`;
  const at = `${utcOf(sealed.sealed_at).slice(0, 16).replace('T', ' ')} UTC`;
  return `Sealed ${at} by ${sealed.by || 'somebody'} with ${key}: ${sealed.fingerprint}.${water}`;
}
