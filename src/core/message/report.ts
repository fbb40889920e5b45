import type { Texts } from './texts.ts';

type Params = Readonly<Record<string, string | number>>;

const at = (p: Params): string => (p['where'] === undefined || p['where'] === '' ? '' : `, ${p['where']}`);

/** Sentences of the seal and of the report, by code. */
export const reportTexts = {
  'seal-key-open': (p) =>
    `The signing key ${p['path']} can be read by other users (mode ${p['mode']}), so a seal made with it would prove little. Set its mode to 600; if others may have read it, make a new one with limpid seal --new-key.`,
  'seal-key-unusable': (p) =>
    `The signing key ${p['path']} cannot be used (${p['detail']}). Put it back from a backup; or move it away, and the next seal makes a new one.`,
  'seal-known-keys': (p) =>
    `${p['file']}, line ${p['line']}: no key. Each line holds a key (64 hexadecimal digits) or its fingerprint (eight groups of four), then a name.`,
  'seal-already': (p) =>
    `The run ${p['runId']} is sealed already (at ${p['at']}). A sealed record never changes; add a comment with --comment, or begin a new run.`,
  'seal-not-ended': (p) =>
    `The run ${p['runId']} is still under way (stage "${p['stage']}"), so it was not sealed. Hand it over first, or seal it as it stands with --unfinished.`,
  'seal-none': (p) => `The run ${p['runId']} is not sealed, so it takes notes as events and no comments beside it.`,
  'seal-no-samples': (p) => `The run ${p['runId']} holds no reading, so there is nothing to seal.`,
  'seal-run-closed': (p) =>
    `The run ${p['runId']} is sealed and takes nothing more. Write a comment beside it, or begin a new run.`,
  'seal-comment-empty': () => 'The comment is empty. Say something, or leave it out.',

  'seal-file-unreadable': (p) =>
    `seal.json, line 1: it is not as a seal is written (${p['detail']}). Take the recording from the export again.`,
  'seal-signature': (p) =>
    `seal.json, line 1: the signature does not fit what the seal says. The seal was changed or is not by the key ${p['fingerprint']}.`,
  'seal-file-changed': (p) => `${p['file']}${at(p)}: changed since it was sealed.`,
  'seal-file-gone': (p) => `${p['file']} was sealed and is missing now.`,
  'seal-head': (p) => `seal.json: it seals the entry ${p['expected']}, but chain.jsonl ends with ${p['found']}.`,
  'seal-mark': () => 'seal.json and chain.jsonl differ on whether the water was simulated.',
  'seal-uncovered': (p) => `${p['file']} is not covered by the seal.`,

  'report-open': (p) => `${p['file']} cannot be written (${p['detail']}). Check the path, the rights and the room.`,
  'report-no-subject': (p) =>
    `${p['subject']} is neither a run of the store nor a folder with a recording. limpid runs lists the runs.`,
} satisfies Texts;
