import type { Texts } from './texts.ts';

/** What `verifyChain` found, by its kind. */
export const chainWords: Texts = {
  changed: (p) => `${entry(p)} was changed after it was kept`,
  dropped: (p) => `${entries(p)} missing`,
  truncated: (p) => `${entries(p)} missing at the end`,
  swapped: (p) => `${entry(p)} was moved to another place`,
  inserted: (p) => `${entry(p)} was put in later`,
  head: () => 'what the run began with (title, survey, settings) was changed after it was kept',
};

/** With what it says now, so that it is found on a page. */
const entry = (p: Parameters<Texts[string]>[0]): string => `entry ${p['index']}${p['named'] ? ` (${p['named']})` : ''}`;
const entries = (p: Parameters<Texts[string]>[0]): string =>
  Number(p['count'] ?? 1) === 1 ? `entry ${p['index']} is` : `${p['count']} entries from ${p['index']} on are`;

/** What to do about a run that is not as it was kept. */
const elsewhere = 'Compare it with a copy made before: a sealed record, an export, a backup.';

/** Sentences of the store room, by code. */
export const storeTexts = {
  'store-in-use': (p) =>
    `The store ${p['file']} is in use by ${p['pid'] ? `another Limpid (process ${p['pid']})` : 'another program'}. Stop that one, or give this one another data folder.`,
  'store-not-writable': (p) =>
    `The store ${p['file']} cannot be written (${p['detail']}). Give the user who runs Limpid the right to write there, or name another data folder: to look at records alone, a copy of this one.`,
  'store-disk-full': (p) =>
    `No room left on the disk of ${p['file']}: nothing more can be kept. Make room (old recordings, other files); recording goes on by itself.`,
  'store-samples-lost': (p) =>
    `${Number(p['count']) === 1 ? 'The last reading' : `The last ${p['count']} readings`}, from ${Math.floor(Number(p['fromS']))} s of the run on, could not be written any more and ${Number(p['count']) === 1 ? 'is' : 'are'} lost: Limpid was stopped while the disk took nothing. All before is kept. Make room before the next start.`,
  'store-corrupt': (p) =>
    `The store ${p['file']} is damaged (${p['detail']}). Run "limpid salvage NEWFOLDER": it makes a new data folder from what can be read, and says what is lost; the damaged one stays as it is.`,
  'store-past-salvage': (p) =>
    `Nothing can be read of ${p['file']} (${p['detail']}). Exported recordings, sealed records (the folder "sealed") and backups can be imported into a new store.`,
  'store-foreign': (p) => `${p['file']} is a database, but not a store of Limpid. Choose another data folder.`,
  'store-too-new': (p) =>
    `The store ${p['file']} has version ${p['found']}, this Limpid knows versions up to ${p['expected']}. Use the newer Limpid, or another data folder.`,
  'store-migration-failed': (p) =>
    `The store ${p['file']} could not be brought from version ${p['from']} to ${p['to']} (${p['detail']}). It is unchanged; a copy is ${p['backup']}. Use the Limpid that wrote it, or another data folder.`,
  'store-io': (p) =>
    `Reading or writing the store ${p['file']} failed (${p['detail']}). Check the disk or card and its cable.`,
  'store-row-unreadable': (p) =>
    `Run ${p['runId']}: ${p['what']} in limpid.sqlite cannot be read (${p['detail']}). Limpid writes nothing of the kind: the store was changed by something else. If the run was sealed, its record stands in the folder "sealed" as it was signed ("limpid report FOLDER"); else take a backup, or "limpid salvage NEWFOLDER".`,
  'store-closed': (p) => `The store ${p['file']} is closed already.`,
  'store-certificate-exists': (p) =>
    `A certificate ${p['id']} is kept already, and certificates are never changed. Make a new one.`,
  'store-run-exists': (p) => `The store holds a run ${p['runId']} already. Give the new run another name.`,
  'store-sample-order': (p) =>
    `A sample at ${p['timeS']} s came after one at ${p['lastS']} s; samples must come in rising time. It was not kept.`,
  'store-sample-number': (p) =>
    `The sample at ${p['timeS']} s holds ${p['found']} for ${p['key']}, which is no number. A missing value must be null. It was not kept.`,
  'store-event-invalid': (p) => `The event ${p['event']} cannot be kept: ${p['path']}: ${p['detail']}.`,
  'store-chain-broken': (p) =>
    `The events of run ${p['runId']} are not what was chained: ${p['kind']} at entry ${p['index']}. Nothing was taken in.`,
  'store-samples-differ': (p) =>
    `The samples of run ${p['runId']} from ${p['fromS']} s to ${p['toS']} s are not those that were chained (${p['detail']}). Nothing was taken in.`,

  // Found against a run that is kept: it is shown as it stands, and this beside it.
  'stored-chain-broken': (p) =>
    `limpid.sqlite: ${chainWords[String(p['kind'])]?.(p) ?? `${p['kind']} at entry ${p['index']}`}. ${elsewhere}`,
  'stored-samples-changed': (p) =>
    `limpid.sqlite: the samples from ${p['fromS']} s to ${p['toS']} s are not those that the chain holds. ${elsewhere}`,
  'stored-samples-gone': (p) =>
    `limpid.sqlite: the samples from ${p['fromS']} s to ${p['toS']} s that the chain holds are missing. ${elsewhere}`,
  'stored-samples-put-in': (p) =>
    `limpid.sqlite: samples from ${p['fromS']} s to ${p['toS']} s were put in that no entry of the chain holds. ${elsewhere}`,
  'stored-samples-after-seal': (p) =>
    `limpid.sqlite: ${p['count']} ${p['count'] === 1 ? 'sample was' : 'samples were'} put in after the run was sealed. ${elsewhere}`,
  'stored-seal-head': (p) =>
    `limpid.sqlite ends with the entry ${p['found']}, but what was sealed ends with ${p['expected']}. ${elsewhere}`,
  'stored-file-changed': (p) =>
    `${p['file']}, kept beside the run, is not what its entry in the chain names. ${elsewhere}`,
} satisfies Texts;
