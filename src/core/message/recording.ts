import { chainWords } from './store.ts';
import type { Texts } from './texts.ts';

type Params = Readonly<Record<string, string | number>>;

const where = (p: Params): string =>
  `${p['file']}, line ${p['line']}${p['column'] === undefined ? '' : `, column ${p['column']}`}`;

const count = (n: string | number | undefined, one: string): string => `${n} ${one}${Number(n) === 1 ? '' : 's'}`;

/** Sentences of the recording room, by code. */
export const recordingTexts = {
  // Errors: the recording cannot be used as it is.
  'recording-settings-strange': (p) =>
    `The run was judged by settings that this version does not have or would refuse (${p['names']}): its own stand in for them, and what is said here may differ from what was said then.`,
  'settings-json': (p) => `${p['file']}: settings are JSON, and this is not: ${p['detail']}`,
  'settings-form': (p) =>
    `${p['file']}: settings are an object of names and numbers, for example {"clearNtu": 4}. Those there are, with their defaults: limpid analyse RECORDING --json, under "settings".`,
  'settings-unknown': (p) =>
    `${p['file']}: there is no setting "${p['name']}".${p['hint']} Those there are, with their defaults: limpid analyse RECORDING --json, under "settings".`,
  'settings-range': (p) => `${p['file']}: ${p['name']} = ${p['found']} cannot be: ${p['detail']}.`,
  'recording-no-folder': (p) => `There is no folder ${p['folder']}. Check the path.`,
  'recording-not-a-folder': (p) =>
    `${p['folder']} is a file, not a folder. A recording is a folder that holds recording.csv and context.json; unpack it first if it is a zip. A report bears no signature of its own: what proves it is the recording that it was made from.`,
  'recording-no-file': (p) => `${p['file']} is missing. ${p['remedy']}`,
  'recording-unreadable': (p) =>
    `${p['file']} cannot be read (${p['detail']}). Check the rights on the file and the disk.`,
  'recording-too-large': (p) =>
    `${p['file']} is too large: ${p['found']}, at most ${p['expected']}. Cut the recording into parts of one run each.`,
  'recording-encoding': (p) =>
    `${p['file']}, line ${p['line']}: not UTF-8 text (${p['found']}). Save the file again as CSV in UTF-8.`,
  'recording-empty': (p) => `${p['file']} holds no row. Expected a header and at least one row.`,
  'recording-header': (p) =>
    `${where(p)} is missing in the header (found: ${p['found']}). Expected: ${p['expected']}. Add the column; its cells may be empty.`,
  'recording-header-twice': (p) => `${where(p)} stands twice in the header. Keep one of the two.`,
  'recording-row-width': (p) =>
    `${where(p)}: ${p['found']} cells, expected ${p['expected']} as in the header. Mend the line; ${Number(p['found']) > Number(p['expected']) ? 'a text that holds the separator stands in quotation marks' : 'a missing value is an empty cell'}.`,
  'recording-quote': (p) =>
    `${where(p)}: a quotation mark opened here is never closed. Close it, or double it if it is text.`,
  'recording-quote-text': (p) =>
    `${where(p)}: text follows a closing quotation mark, so that nobody can tell where the row ends. Double the marks that are text, or take them away.`,
  'recording-not-a-number': (p) =>
    p['column'] === 'time_s'
      ? `${where(p)}: found "${p['found']}", expected seconds from the start${p['hint'] ?? ''}. Mend or delete the line.`
      : `${where(p)}: found "${p['found']}", expected a number${p['hint'] ?? ''}. Mend the cell; a missing value is an empty cell.`,
  'recording-time-missing': (p) =>
    `${where(p)}: found nothing, expected seconds from the start. Mend or delete the line.`,
  'recording-time-range': (p) =>
    `${where(p)}: found ${p['found']}, expected seconds from the start, 0 to ${p['max']}. Mend the column; a date or a clock time does not fit there.`,
  'recording-absurd': (p) =>
    `${where(p)}: found ${p['found']}, expected ${p['min']} to ${p['max']} ${p['unit']}. Mend the cell (wrong unit?), or leave it empty.`,
  'recording-event-name': (p) =>
    `${where(p)}: found "${p['found']}", expected an event name such as emitter-open or stage:rinse (small letters, digits, hyphens). Mend the cell.`,
  'recording-text-long': (p) => `${where(p)}: ${p['found']} characters, at most ${p['max']}. Shorten the text.`,
  'recording-json': (p) =>
    `${p['file']}, line ${p['line']}: not valid JSON (${p['detail']}). ${p['file'] === 'chain.jsonl' ? 'This file is never edited by hand; take it from the export again.' : 'Mend the file.'}`,
  'recording-context': (p) =>
    `${p['file']}, field ${p['path']}: ${p['detail']} (found: ${p['found']}). Mend the field; docs/recording.md shows a whole example.`,
  'recording-chain-line': (p) =>
    `${p['file']}, line ${p['line']}, field ${p['path']}: ${p['detail']}. This file is never edited by hand; take it from the export again.`,
  'recording-chain-broken': (p) =>
    `${p['file']}, line ${p['line']}: ${chainWords[String(p['kind'])]?.(p) ?? p['kind']}. Take the recording from the export again; to use events.csv without proof, take chain.jsonl away.`,
  'recording-context-differs': () =>
    'context.json describes the run otherwise than the first line of chain.jsonl. One of them was changed: take the recording from the export again.',
  'recording-chain-disagrees': (p) =>
    `${p['file']}, line ${p['line']}: ${p['found']}, but chain.jsonl says ${p['expected']}. One of them was changed: take the recording from the export again, or, to use events.csv without proof, take chain.jsonl away.`,
  'recording-samples-changed': (p) =>
    `${p['file']}: the samples from ${p['fromS']} s to ${p['toS']} s are not those that the chain holds. Take the recording from the export again.`,
  'recording-samples-unchained': (p) =>
    `${p['file']}: the last ${p['count']} rows are in no entry of the chain. Take the recording from the export again.`,
  'recording-folder-taken': (p) =>
    `${p['folder']} is not empty and holds ${p['found']}. Nothing was written there; give another folder.`,
  'recording-not-writable': (p) =>
    `${p['folder']} cannot be written (${p['detail']}). Check the path, the rights and the room on the disk.`,
  'recording-run-exists': (p) =>
    `The store holds a run ${p['runId']} already, and it is not this one: one of them may be older, or was changed. Take the recording into another data folder and compare; one without chain and seal may be given another run_id in context.json instead.`,

  // Archives.
  'recording-no-zip': (p) =>
    `${p['file']} is no zip archive (or its end is cut off). Give a recording packed as zip, or its folder.`,
  'recording-zip-broken': (p) =>
    `${p['file']}: the archive is damaged: ${p['detail']}. Pack it again, or send it again.`,
  'recording-zip-path': (p) =>
    `${p['file']} holds ${p['found']}: a name that could lead out of the folder. Nothing was taken in; pack plain files only.`,
  'recording-zip-too-large': (p) =>
    `${p['file']} is too large when unpacked: ${p['found']}, at most ${p['expected']}. Nothing was taken in; send one run in each archive.`,
  'recording-nothing-here': (p) =>
    `${p['folder']} holds no recording: no folder with recording.csv and context.json, and no zip of one. Check the path.`,

  // Remarks: it was used, and this is worth knowing.
  'recording-rows-unordered': (p) =>
    `${p['file']}: ${p['count']} rows stood out of order (first: line ${p['line']}); rows were sorted by time.`,
  'recording-rows-doubled': (p) =>
    `${p['file']}: ${p['count']} rows had the time of another (first: line ${p['line']}); the first of each was kept.`,
  'recording-columns-ignored': (p) => `${p['file']}: columns not known here were left aside: ${p['found']}.`,
  'recording-decimal-comma': (p) => `${p['file']}: decimal commas were read as points (${p['count']} cells).`,
  'recording-outside-slightly': (p) =>
    `${p['file']}: ${count(p['count'], 'value')} of ${p['column']} ${Number(p['count']) === 1 ? 'lies' : 'lie'} slightly outside ${p['min']} to ${p['max']} ${p['unit']} (first: line ${p['line']}); kept as they are.`,
  'recording-cells-left-out': (p) =>
    `${p['file']}: ${count(p['count'], 'cell')} of ${p['column']} could not be used (first: line ${p['line']}, "${p['found']}") and ${Number(p['count']) === 1 ? 'counts as missing. Mend it if the value is' : 'count as missing. Mend them if the values are'} known.`,
  'recording-rows-left-out': (p) =>
    `${p['file']}: ${count(p['count'], 'row')} without a usable time or with another number of cells (first: line ${p['line']}) left out. Mend the lines if they matter.`,
  'recording-columns-absent': (p) =>
    `${p['file']} has no column ${p['found']}: taken as missing throughout. Add the column if it was measured.`,
  'recording-last-line-cut': (p) => `${p['file']}, line ${p['line']}: the last line is cut off and was left out.`,
  'recording-no-events': (p) => `${p['folder']} holds no events.csv: taken as one visit without marked passes.`,
  'recording-time-leaps': (p) =>
    `${p['file']}: line ${p['line']} has the time ${p['found']} s, and ${p['count']} rows behind it have earlier ones; rows were sorted by time. If that time is wrong, correct it or take the line out.`,
  'recording-start-unreadable': (p) =>
    `${p['file']}, started_at: "${p['found']}" is no date; the run stands without one. Write it like 2026-06-30T23:30:00-05:00.`,
  'recording-events-unordered': (p) => `${p['file']}: ${p['count']} events stood out of order; sorted by time.`,
  'recording-events-left-out': (p) =>
    Number(p['count']) === 1
      ? `${p['file']}: 1 row (line ${p['line']}) cannot be used and was left out: what it tells, be it an opening, a pass or a stage, counts as never told. Mend it, then read the recording again.`
      : `${p['file']}: ${p['count']} rows (first: line ${p['line']}) cannot be used and were left out: what they tell, be it an opening, a pass or a stage, counts as never told. Mend them, then read the recording again.`,
  'recording-emitter-unknown': (p) =>
    `${p['file']}, line ${p['line']}: emitter "${p['found']}" is not in context.json; kept, without its litres.`,
  'recording-file-changed': (p) =>
    `${p['file']} is not as it was exported (datapackage.json holds another hash). Take the recording from the export again.`,
  'recording-details-left-out': () =>
    'The names of the client and the place are left out of this copy; the record itself can be checked all the same.',
  'photo-kind': (p) =>
    `That is no photo this bridge can keep: it begins with ${p['begins']}. Send a JPEG or a PNG; the page makes one of whatever the camera gives.`,
  'photo-large': (p) =>
    `The photo has ${p['bytes']} bytes; ${p['limitBytes']} are the most. Take it at a smaller size.`,
  'recording-file-gone': (p) =>
    `${p['file']} was exported (datapackage.json names it) and is missing now. Take the recording from the export again.`,
  'recording-package-invalid': (p) => `${p['file']} is not a data package of ours (${p['detail']}); it was left aside.`,
} satisfies Texts;
