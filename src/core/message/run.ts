import type { Texts } from './texts.ts';

/** Why something that was asked for in a run cannot be done now, and what to do. */
const refusals = {
  'job.unknown-event': (p) => `There is no event called "${p['event']}". See docs/events.md for the names.`,
  'job.unknown-stage': (p) => `There is no stage called "${p['stage']}". See docs/events.md for the names.`,
  'job.unknown-emitter': (p) =>
    `This run has no emitter "${p['emitter']}". It has: ${p['known']}. Add it to the run's context, or use one of these.`,
  'job.run-ended': (p) => `The run has ended, so "${p['event']}" was not taken. Begin a new run.`,
  'job.stage-already': (p) => `The run is in the stage "${p['stage']}" already.`,
  'job.none-open': (p) => `No emitter is open, so "${p['event']}" was not taken. Open the emitter first.`,
  'job.other-open': (p) =>
    `"${p['emitter']}" is not open; "${p['open']}" is. Shut that one, or open "${p['emitter']}" first.`,
  'job.no-pass': (p) => `No pass of this visit to "${p['emitter']}" is left to take back.`,
  'job.same-press': (p) => `Taken as the same press, ${Number(p['apartS']).toFixed(1)} s apart: one pass is counted.`,
  'job.which-emitter': () => 'Which emitter? Name it by its id.',
  'job.emitters-not-begun': (p) =>
    `"${p['emitter']}" was not opened: work on single emitters has not begun. Start the stage "emitters" first.`,
  'job.already-open': (p) => `"${p['emitter']}" is open already.`,
  'job.skip-open': (p) => `"${p['emitter']}" is open. Shut it first, then skip it, or open the next one.`,
  'job.skip-why': (p) => `Why is "${p['emitter']}" skipped? Give the reason as a note: the record keeps it.`,
  'job.already-skipped': (p) => `"${p['emitter']}" is skipped already.`,
  'job.not-leading': (p) => `"${p['lead']}" leads this run. Take the lead first, then do it again.`,
  'job.nothing-to-undo': () => 'There is nothing to take back.',
  'job.undo-unknown': () => 'The action to take back is not known in this run.',
  'job.undo-twice': () => 'That was taken back already.',
  'job.correct-unknown': () =>
    'Nothing that was typed in this run is named so. Name the wrong entry (a dose, a water test, a label, a limit, a figure, weighed sludge) by the id that it was sent with.',
  'job.correct-undone': () => 'That was taken back, so there is nothing to put right. Enter it anew.',
  'job.undo-not-last': () => 'Something else was done since. Take that back first, or tell what is so now.',
  'job.undo-too-late': (p) =>
    `It can be taken back for ${p['windowS']} s only. Tell what is so now instead: the record keeps both.`,
} satisfies Texts;

/** The one thing to do now, and why there is no verdict, where no sentence of the line room says it. */
const bandTexts = {
  'job.do-shake': () => 'Shake it, then press Pass done',
  'job.do-wait': () => 'Wait: the water of the last pass is on its way',
  'job.do-wait-dirty': () => 'Wait until it has gone by',
  'job.do-shake-again': () => 'Shake it, then press Pass done',
  'job.do-next': (p) => `Shut it, open ${p['next']}`,
  'job.do-shut-last': () => 'Shut it: it was the last',
  'job.do-wait-sight': () => 'Wait; do not go by the last verdict',
  'job.do-look': () => 'Look at the rig; do not go by the last verdict',
  'job.do-alarm-first': () => 'First do what the alarm says',
  'job.do-open': (p) => `Open ${p['next']}, shut all others`,
  'job.do-resume': () => 'Press Go on when the work goes on',
  'job.paused': (p) => `Paused: ${p['why']}.`,
  'job.do-next-stage': () => 'All is there: go on to the next stage',
  'job.do-seal': () => 'Signed: seal the record',
  'job.do-go-on': () => 'All emitters are done: go on to the next stage',
  'job.do-go-on-or-open': () => 'Go on to the next stage, or open one again',
  'job.do-sample': () => 'Hold a sample beside mains water',
  'job.do-rinse': () => 'Keep rinsing',
  'job.do-rinse-done': () => 'The rinse can end',
  'job.no-emitter-open': () => 'No emitter is open.',
  'job.none-to-open': (p) =>
    `No emitter is left to open: ${p['done']} done, ${p['left']} left, ${p['skipped']} skipped.`,
  'job.stage-idle': (p) => `The run is in the stage "${p['stage']}": the return line is recorded, not judged.`,
  'job.not-begun': () => 'The run has not begun.',
} satisfies Texts;

/** The verdict in words that are read at two metres, two short lines at most, and the buttons that make sense then. */
const wordTexts = {
  'band.watching': () => 'Watching the return',
  'band.carrying': () => 'Dirty water coming',
  'band.settling': () => 'Falling',
  'band.clear-shake': () => 'Clear: shake it',
  'band.clear-again': () => 'Clear: shake again',
  'band.done': () => 'Done: shut it',
  'band.clear-alone': () => 'Clear',
  'band.done-alone': () => 'Done',
  'band.cannot-tell': () => 'Cannot tell',
  'band.rests': () => 'The run rests',
  'band.open': () => 'Open an emitter',
  'band.worked-on': ({ done, left, skipped }) => {
    if (Number(left) > 0 && Number(skipped) > 0) return `${done} done, ${Number(left) + Number(skipped)} not`;
    if (Number(left) > 0) return `${done} done, ${left} left`;
    return Number(skipped) > 0 ? `${done} done, ${skipped} skipped` : `${done} done`;
  },
  'band.not-begun': () => 'Not begun',
  'band.begin': () => 'Start with the survey',
  'band.at-mains': () => 'At mains level',
  'band.rinse': () => 'Rinse cold',
  'band.rinsing': () => 'Rinsing',
  'button.go-on': () => 'Go on',
  'button.pass': () => 'Pass done',
  'button.open': (p) => `Open ${p['emitter']}`,
  'button.shut': (p) => `Shut ${p['emitter']}`,
  'button.shut-open': (p) => `Shut and open ${p['next']}`,
  'button.skip': (p) => `Skip ${p['emitter']}`,
  'button.start': (p) => `Start: ${p['stage']}`,
  'button.end': () => 'End the run',
  'button.caution': (p) => `Done: ${p['title']}`,
  'undo.pass': (p) => `Pass done: ${p['emitter']}`,
  'undo.pass-kit': (p) => `Pass by the kit's button: ${p['emitter']}`,
  'undo.open': (p) => `Opened ${p['emitter']}`,
  'undo.shut': (p) => `Shut ${p['emitter']}`,
  'undo.skip': (p) => `Skipped ${p['emitter']}`,
  'undo.override': (p) => `Override: ${p['emitter']}`,
  'undo.dose': (p) => `Added ${p['what']}`,
  'undo.label': (p) => `Label rate: ${p['what']}`,
  'undo.typed': (p) => `Typed: ${p['what']}`,
  'undo.corrected': (p) => `Put right: ${p['what']}`,
  'undo.sample': (p) => `Water test: ${p['what']}`,
  'undo.limit': (p) => `Limit: ${p['what']}`,
  'undo.weighed': () => 'Sludge, weighed',
  'undo.stage': (p) => `Started: ${p['stage']}`,
} satisfies Texts;

/** The way from the sensor to the bridge. */
const linkTexts = {
  'link.sensor-ok': () => 'Turbidity is read.',
  'link.sensor-off': () => 'Not known while the kit is away.',
  'link.sensor-sealed': () => 'The run is sealed: no more readings are taken.',
  'link.sensor-never': () => 'The kit sends no turbidity: look at the sensor and its plug.',
  'link.sensor-gone': () => 'Turbidity has stopped coming: look at the sensor and its plug.',
  'link.kit-ok': (p) => `Readings come from ${p['source']}.`,
  'link.kit-closed': (p) => `Not connected to ${p['source']}.`,
  'link.kit-opening': (p) => `Connecting to ${p['source']}.`,
  'link.kit-ended': (p) => `${p['source']} has come to its end.`,
  'link.kit-no-pack': (p) => `Connected to ${p['source']}, but no reading came yet: is the kit running?`,
  'link.kit-stale': (p) => `No reading comes from ${p['source']} now: look at the kit and its cable.`,
  'link.kit-besides': (p) =>
    `The kit of this run (${p['kit']}) has gone silent: look at it. Another one, ${p['besides']}, is heard and not used, since it may stand in other water. To go on with it, begin a new run.`,
  'link.bridge-ok': () => 'The record is being kept.',
  'link.count-behind': () =>
    'Packs that have no place in this run: made before it began, while the bridge was off, or before a start of the kit that was never heard live. They are not in the record.',
  'link.count-placedLate': () =>
    'Readings that came when their time had gone by. They stand at their own time in the record and in the trace; the verdict was given without them.',
  'link.count-otherKit': () =>
    'Packs of another kit than the one of this run, not used. To go on with another kit, begin a new run.',
  'link.count-moved': () => 'Readings that came so late that they stand at a later time than they were made.',
  'link.count-kitPassRefused': () => 'Presses of the button on the kit while no emitter was open.',
  'run.analysis-fault': () =>
    'The analysis met a fault of its own, so no verdict is given. The record goes on; start the bridge anew, and send us the exported run.',
  'run.not-kept': () => 'It could not be written to the record, so it was not done. Try again; look at the disk.',
} satisfies Texts;

/** Settings of the bridge and its start. */
const configTexts = {
  'config.unknown': (p) =>
    `There is no setting "${p['name']}" (${p['place']}).${p['nearest'] ? ` Did you mean "${p['nearest']}"?` : ''}`,
  'config.value': (p) => `${p['name']} (${p['place']}): found ${p['found']}, expected ${p['expected']}.`,
  'config.survey': (p) =>
    `Survey ${p['path']}, line ${p['line']}, ${p['column'] || 'the row'}: found ${p['found']}, expected ${p['expected']}.${
      Number(p['more']) > 0 ? ` ${p['more']} more like it.` : ''
    } Mend the table and start again; nothing of it was taken.`,
  'config.file': (p) => `The file ${p['path']} cannot be used: ${p['detail']}. Mend it, or leave the setting out.`,
  'config.two-sources': (p) => `Two sources at once: ${p['first']} and ${p['second']}. Name one of them.`,
  'config.speed-serial': () => 'A real kit runs at its own speed: leave --speed out.',
  'config.mqtt-secret': () =>
    'A login does not belong on the command line, where every user of this machine can read it. Set LIMPID_MQTT_USER and LIMPID_MQTT_PASSWORD (of the way to the firm: LIMPID_OUTBOX_USER and LIMPID_OUTBOX_PASSWORD), or mqtt_user and so on in the settings file.',
  'config.outbox-rig': () =>
    'The way to the firm needs a name for this rig: set --rig, to what the firm calls it (its login at the broker).',
  'config.hub-broker': () =>
    "A hub needs the firm's broker: set --broker, like mqtts://192.0.2.7 (docs/firm.md says which brokers will do).",
  'config.hub-secret': () =>
    'A login does not belong on the command line, where every user of this machine can read it. Set LIMPID_BROKER_USER and LIMPID_BROKER_PASSWORD, or the same in hub.json; a login of the time series goes into hub.json, in the address.',
  'backup-none': (p) => `${p['folder']} is no backup: it has no backup.json. Name the folder that limpid backup made.`,
  'backup-taken': (p) =>
    `${p['folder']} holds something already, and nothing is written over. Name a folder that is not there, or move that one aside.`,
  'backup-file-gone': (p) =>
    `The backup ${p['folder']} lacks its file ${p['name']}. Nothing was restored; use another backup.`,
  'backup-file-changed': (p) =>
    `The file ${p['name']} of the backup ${p['folder']} is not as it was written. Nothing was restored; use another backup.`,
  'backup-not-writable': (p) =>
    `${p['folder']} cannot be written (${p['detail']}). Make room, or name another place; nothing is left there half.`,
  'config.mapping-alone': () => 'A mapping needs a kit to read: name --serial, --mqtt or --broker with it.',
  'config.scenario': (p) => `There is no scenario "${p['scenario']}". There is: ${p['known']}.`,
  'run.unknown': (p) => `There is no run "${p['runId']}" here. The newest are: ${p['known']}. All: limpid runs`,
  'run.no-data': (p) => `There is no data folder ${p['data']} yet. Start the bridge once, or give another with --data.`,
  'run.system-unknown': () =>
    'Nothing is known of this system yet, so the run begins with the survey: list the emitters on the page, or give a file with --context FILE (see docs/recording.md, context.json).',
  'run.port-taken': (p) =>
    `Port ${p['port']} is in use by another program${p['who'] ? ` (${p['who']})` : ''}. Stop that one, or choose another with --port; without --port the next free one is taken.`,
  'run.port-denied': (p) =>
    `Port ${p['port']} on ${p['host']} may not be used by this user. Choose a port over 1023 with --port.`,
  'run.host-unknown': (p) =>
    `${p['host']} is no address of this machine. Leave --host out to listen on all, or give one of: ${p['known']}.`,
} satisfies Texts;

/** Tables read by the command line. */
const tableTexts = {
  'table.unreadable': (p) => `${p['file']} cannot be read: ${p['detail']}. Check the path; - reads standard input.`,
  'table.folder': (p) => `${p['file']} is a folder. Name the CSV file in it.`,
  'table.empty': (p) => `${p['file']} is empty. Expected a header and rows below it.`,
  'table.wide': (p) =>
    `${p['file']}, line ${p['line']}: ${p['found']} cells under a header of ${p['expected']}. Put cells that hold the separator in quotes.`,
  'table.not-a-number': (p) =>
    `${p['file']}, row ${p['row']} (counted from 0), column ${p['column']}: "${p['found']}" is no number. ${p['hint']}`,
  'table.no-time': (p) =>
    `${p['file']}, row ${p['row']} (counted from 0), column ${p['column']}: "${p['found']}" is no time. Give seconds, or a date and time such as 2026-01-31 14:05:00; or leave --time out.`,
  'table.no-text': (p) => `${p['file']} is not a table in plain text. In a spreadsheet, save it as CSV.`,
  'table.number-header': (p) =>
    `${p['file']}: the first line holds numbers (${p['names']}) and was taken for the names of the columns, not for a row. If it is a row, put a header above it.`,
} satisfies Texts;

/** Sentences of the run room, by code. */
export const runTexts = {
  ...refusals,
  ...bandTexts,
  ...wordTexts,
  ...linkTexts,
  ...configTexts,
  ...tableTexts,
} satisfies Texts;
