import type { Texts } from './texts.ts';

type Params = Readonly<Record<string, string | number>>;

const at = (p: Params): string => (p['where'] === undefined || p['where'] === '' ? '' : `, ${p['where']}`);

/** `2026-01-02 03:04 UTC` of a time as the bridge writes it. */
const minuteUtc = (iso: string): string => `${iso.slice(0, 16).replace('T', ' ')} UTC`;
const onDay = (p: Params): string => (p['at'] ? ` on ${minuteUtc(String(p['at']))}` : '');
const withKey = (p: Params): string => (p['key'] ? ` with the key ${p['key']}` : '');

/** What the last entry of a sealed record's chain says. */
const sealedBy = (p: Params): string =>
  `The last entry of the chain says that ${p['by'] || 'somebody'} sealed this record${onDay(p)}${withKey(p)}.`;

/** What to do about a sealed record that is not as it was signed. */
const again = 'Take it from an export or a backup again.';

/** Of a run whose seal is not here: who sealed it, and what to do. */
export const sealNotHere = (p: Params): string =>
  `${sealedBy(p)} The sealed copy is not here: it was taken away, or it has not come yet. Take in an export of the run (limpid import), or put the folder "sealed" back from a backup; until then nobody can check this record against what was signed.`;

/** Sentences of the seal and of the report, by code. */
export const reportTexts = {
  'seal-key-open': (p) =>
    `The signing key ${p['path']} can be read by other users (mode ${p['mode']}), so a seal made with it would prove little. Set its mode to 600; if others may have read it, make a new one with limpid seal --new-key.`,
  'seal-key-unusable': (p) =>
    `The signing key ${p['path']} cannot be used (${p['detail']}). If it is another user's, give it to the one who runs Limpid; else put it back from a backup, or move it away, and the next seal makes a new one.`,
  'seal-key-not-made': (p) =>
    `A new signing key cannot be written to ${p['path']} (${p['detail']}), so nothing was sealed. Check the rights and the room on the disk, then seal again.`,
  'seal-known-keys': (p) =>
    `${p['file']}, line ${p['line']}: no key. Each line holds a key (64 hexadecimal digits) or its fingerprint (eight groups of four), then a name.`,
  'seal-already': (p) =>
    `The run ${p['runId']} is sealed already (at ${p['at']}). A sealed record never changes; write a comment beside it (limpid seal --comment), or begin a new run.`,
  'seal-not-ended': (p) =>
    `The run ${p['runId']} is still under way (stage "${p['stage']}"), so it was not sealed. Hand it over first, or seal it as it stands (limpid seal --unfinished).`,
  'seal-none': (p) =>
    `No sealed record of the run ${p['runId']} is here, so no comment can stand beside it: write a note in the run itself, or seal it first.`,
  'seal-no-samples': (p) => `The run ${p['runId']} holds no reading, so there is nothing to seal.`,
  'seal-run-closed': (p) =>
    `The run ${p['runId']} is sealed and takes nothing more. Write a comment beside it, or begin a new run.`,
  'seal-comment-empty': () => 'The comment is empty. Say something, or leave it out.',

  'seal-file-unreadable': (p) => `seal.json, line 1: it is not as a seal is written (${p['detail']}). ${again}`,
  'seal-signature': (p) =>
    `seal.json, line 1: the signature does not fit what the seal says. The seal was changed or is not by the key ${p['fingerprint']}. ${again}`,
  'seal-file-changed': (p) => `${p['file']}${at(p)}: changed since it was sealed. ${again}`,
  'seal-file-gone': (p) => `${p['file']} was sealed and is missing now. ${again}`,
  'seal-head': (p) =>
    `seal.json: it seals the entry ${p['expected']}, but chain.jsonl ends with ${p['found']}. ${again}`,
  'seal-mark': () => `seal.json and chain.jsonl differ on whether the water was simulated. ${again}`,
  'seal-gone': (p) => `${sealedBy(p)} The seal is gone: seal.json is not here. ${again}`,
  'seal-not-here': sealNotHere,
  'seal-cut-short': (p) =>
    `${sealedBy(p)} But that sealing was cut short before anything was signed. Seal it again under that name: limpid seal ${p['runId']} --by "${p['by'] || 'NAME'}". If the key was replaced since, the new entry says so.`,
  'seal-first-cut-short': (p) =>
    `A sealing by ${p['by'] || 'somebody'}${onDay(p)}${withKey(p)} was cut short before anything was signed.`,
  'seal-other-key': (p) =>
    `seal.json: the seal is by the key ${p['found']}, and not by the one that the record names. ${sealedBy(p)} It was signed anew by somebody else: take it from an export or a backup made before.`,
  'seal-by-other': (p) =>
    `${sealedBy(p)} It is not sealed a second time under another name or key; the key here is ${p['own']}. Put the sealed copy back: take in an export of the run (limpid import), or the folder "sealed" from a backup. If there is none, only that name with that key can seal it again.`,
  'seal-uncovered': (p) => `${p['file']} is not covered by the seal: it was put in later, and proves nothing.`,

  'report-open': (p) => `${p['file']} cannot be written (${p['detail']}). Check the path, the rights and the room.`,
  'report-no-subject': (p) =>
    `${p['subject']} is neither a run of the store nor a folder with a recording. limpid runs lists the runs.`,
} satisfies Texts;
