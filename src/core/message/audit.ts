import { sealNotHere } from './report.ts';
import type { Texts } from './texts.ts';

type Value = string | number | undefined;
type Params = Readonly<Record<string, string | number>>;

const n = (v: Value, digits = 0): string => Number(v ?? Number.NaN).toFixed(digits);
const few = (v: Value): string => n(v, Math.abs(Number(v)) < 10 ? 1 : 0);
const passes = (v: Value): string => `${n(v)} ${Number(v) === 1 ? 'pass' : 'passes'}`;
const times = (v: Value): string => (Number(v) === 1 ? 'once' : `${n(v)} times`);
/** Seconds, as minutes or hours where there are many. */
const lasting = (v: Value): string => {
  const s = Number(v);
  return s < 120 ? `${n(s)} s` : s < 7200 ? `${n(s / 60)} min` : `${n(s / 3600, 1)} h`;
};
const reason = (v: Value): string => (v === undefined || v === '' ? 'No reason was given.' : `Reason: ${v}.`);

const states: Readonly<Record<string, string>> = {
  idle: 'nothing watched',
  watching: 'watching, no answer yet',
  carrying: 'dirty water coming',
  settling: 'still falling',
  clear: 'clear',
  'cannot-tell': 'cannot tell',
};
const state = (v: Value): string => states[String(v)] ?? String(v ?? '');

const causes: Readonly<Record<string, string>> = {
  silence: 'the kit was silent',
  'turbidity-missing': 'the turbidity sensor sent nothing',
  'flow-missing': 'the flow sensor sent nothing',
  stuck: 'the turbidity reading did not move',
  restarted: 'the bridge had been off',
  fouling: 'turbidity climbed in a straight line: a film on the window, or the background',
  'other-kit': 'another kit had begun to read',
  dark: 'the turbidity sensor saw no light',
  'no-flow': 'there was no flow',
  'over-range': 'turbidity was over its range',
  folded: 'turbidity had been over its range',
  'rinse-mains-lost': 'the mains were lost',
};
const cause = (v: Value): string => causes[String(v)] ?? 'the readings could not be used';

const channelNames: Readonly<Record<string, string>> = { flowLpm: 'Flow', returnC: 'Return temperature' };

function otherOpen(p: Params): string {
  if (p['togetherS'] !== undefined)
    return `${p['other']} was told shut only ${lasting(p['togetherS'])} after ${p['emitter']} was opened.`;
  return `Flow was ${n(p['flowLpm'], 1)} l/min for ${lasting(p['lastedS'])}; ${p['emitter']} alone gives about ${n(p['aloneLpm'], 1)}.`;
}

function rinseEnd(p: Params, said: string): string {
  const parts = [
    ...(p['turbidityNtu'] === undefined
      ? []
      : [`turbidity ${few(p['turbidityNtu'])} NTU (limit ${few(p['turbidityLimitNtu'])})`]),
    ...(p['conductivityUsCm'] === undefined
      ? []
      : [`conductivity ${n(p['conductivityUsCm'])} µS/cm (limit ${n(p['conductivityLimitUsCm'])})`]),
  ];
  const figures = parts.length > 0 ? ` It ended at ${parts.join(', ')}.` : '';
  return `${said}${figures}`;
}

/** What each rule found, by `audit.<rule>`. */
const findings: Texts = {
  'audit.left-before-clear': (p) =>
    `${p['emitter']} was left after ${lasting(p['heldS'])} and ${passes(p['passes'])}; the line stood at "${state(p['state'])}".`,
  'audit.left-untold': (p) => `${p['emitter']} was left while nothing could be told: ${cause(p['cause'])}.`,
  'audit.never-visited': (p) =>
    `${p['names']}${Number(p['more']) > 0 ? ` and ${n(p['more'])} more` : ''}: neither worked on nor skipped with a reason.`,
  'audit.done-without-pass': (p) =>
    `${p['emitter']} was open for ${lasting(p['heldS'])} and shut with no pass marked and no pulse seen.`,
  'audit.passes-unmarked': (p) =>
    `${p['emitter']}: ${n(p['pulses'])} ${Number(p['pulses']) === 1 ? 'pulse' : 'pulses'} came beside the ${passes(p['passes'])} that were marked.`,
  'audit.passes-low': (p) =>
    `${p['emitter']} was left after ${passes(p['passes'])}; ${n(p['least'])} at least are asked for unless the last brings nothing.`,
  'audit.not-done': (p) =>
    `${p['emitter']} was clear when it was left after ${passes(p['passes'])}, but the last one still brought ${
      p['peakNtu'] === undefined ? 'dirt' : `${few(p['peakNtu'])} NTU`
    }.`,
  'audit.skipped-emitter': (p) => `${p['emitter']} was skipped. ${reason(p['why'])}`,
  'audit.verdict-overridden': (p) =>
    `${p['emitter']} was shut against the verdict${p['who'] ? ` by ${p['who']}` : ''}${
      p['state'] ? ` (it stood at "${state(p['state'])}")` : ''
    }. ${reason(p['why'])}`,
  'audit.more-than-one-open': otherOpen,
  'audit.stayed-after-done': (p) => `${p['emitter']} stayed open for ${lasting(p['stayedS'])} after it was told done.`,
  'audit.circulation-short': (p) =>
    `${n(p['countedMin'], 1)} min counted inside the bands; ${n(p['wantedMin'])} min are asked for.`,
  'audit.circulation-out-of-band': (p) =>
    `${channelNames[String(p['channel'])] ?? p['channel']} was out of its band for ${lasting(p['outS'])} of ${lasting(p['ofS'])}.`,
  'audit.rinse-above-mains': (p) => rinseEnd(p, 'The rinse was ended before it was told at mains level.'),
  'audit.rinse-brief': (p) =>
    rinseEnd(p, 'The rinse was under its limits when it was ended, but had not stood there for long enough.'),
  'audit.rinse-untold': (p) => `When the rinse ended nothing could be told: ${cause(p['cause'])}.`,
  'audit.stage-left-out': (p) =>
    `${p['stages']} ${Number(p['count']) === 1 ? 'was' : 'were'} left out. ${reason(p['why'])}`,
  'audit.samples-missing': (p) =>
    Number(p['items']) === 0 ? `${p['water']}: no water was tested.` : `${p['water']}: only ${n(p['items'])} figures.`,
  'audit.samples-outside': (p) =>
    `${p['what']}: ${few(p['value'])}${p['unit'] === '' ? '' : ` ${p['unit']}`}, ${p['side'] === 'most' ? 'at most' : 'at least'} ${few(p['limit'])} is the limit (${p['origin']}).`,
  'audit.overdose': (p) =>
    `${n(p['litres'], 2)} l of ${p['what']} added: ${n(p['percent'])} % of what the label wants; ${n(p['mostPercent'])} % at most.`,
  'audit.inhibitor-missing': () => 'No inhibitor was recorded as added.',
  'audit.inhibitor-weak': (p) =>
    `Inhibitor at ${n(p['percent'])} % of the label’s strength (${p['how'] === 'tested' ? 'by test' : 'by litres added'}); ${n(p['leastPercent'])} % at least.`,
  'audit.cleaner-remaining': (p) =>
    `${n(p['percent'])} % of the cleaner was still in the water; ${n(p['mostPercent'])} % at most.`,
  'audit.pressure-out-of-band': (p) =>
    `Pressure was ${p['side'] === 'high' ? 'over' : 'under'} ${n(p['limitBar'], 1)} bar for ${lasting(p['outS'])}; ${
      p['side'] === 'high' ? 'highest' : 'lowest'
    } ${n(p['extremeBar'], 2)} bar.`,
  'audit.temperature-out-of-band': (p) =>
    `${p['where'] === 'supply' ? 'Supply' : 'Return'} over ${n(p['limitC'])} °C for ${lasting(p['outS'])}${
      p['whom'] === 'hands' ? ' while somebody worked at the water' : ''
    }; highest ${n(p['highestC'])} °C.`,
  'audit.leak': (p) => `${p['text']} (Said ${times(p['times'])}.)`,
  'audit.filling-loop-open': (p) => `${p['text']} (Said ${times(p['times'])}.)`,
  'audit.chamber-full': (p) => `${p['text']} (Said ${times(p['times'])}.)`,
  'audit.hold-leak': (p) =>
    `Pressure fell by ${n(1000 * Number(p['barPerMin']), 1)} mbar/min during the hold, give or take ${n(2000 * Number(p['u']), 1)}, temperature allowed for.`,
  'audit.hold-missing': () => 'The rig was joined and no pressure hold was made.',
  'audit.contact-short': (p) =>
    `${n(p['countedMin'])} min with flow since the cleaner went in; the label wants ${n(p['wantedMin'])} min.`,
  'audit.data-gap': (p) =>
    `${n(p['gaps'])} ${Number(p['gaps']) === 1 ? 'gap' : 'gaps'}, ${lasting(p['seconds'])} in all, ${lasting(p['longestS'])} the longest.`,
  'audit.water-stood': (p) =>
    `${n(p['stops'])} ${Number(p['stops']) === 1 ? 'stop' : 'stops'}, ${lasting(p['seconds'])} in all, ${lasting(p['longestS'])} the longest, and nobody told that the pump was off.`,
  'audit.sensor-fault': (p) => `For ${lasting(p['lastedS'])} ${cause(p['cause'])}.`,
  'audit.over-range': (p) => `For ${lasting(p['lastedS'])} turbidity was over the range of its sensor.`,
  'audit.calibration-missing': (p) =>
    `Turbidity went by the kit’s own values${p['kit'] ? ` (${p['kit']})` : ''}: no certificate.`,
  'audit.calibration-overdue': (p) =>
    `The certificate of ${p['channel']} was due ${p['due']}${
      p['days'] === undefined ? '' : `, ${n(p['days'])} ${Number(p['days']) === 1 ? 'day' : 'days'} before this run`
    }.`,
  'audit.kit-changed': (p) => `The kit was ${p['was']}, then ${p['is']}.`,
  'audit.kit-restarted': (p) => `Restarted ${times(p['restarts'])} in this run.`,
  'audit.clock-changed': (p) =>
    `The clock went ${Number(p['byS']) > 0 ? 'forward' : 'back'} by ${lasting(Math.abs(Number(p['byS'])))}.`,
  'audit.volumes-apart': (p) =>
    `Filled ${few(p['measuredL'])} l, the survey says ${few(p['surveyedL'])} l: ${few(Math.abs(Number(p['differenceL'])))} l ${
      Number(p['differenceL']) > 0 ? 'more' : 'less'
    }, beyond both uncertainties.`,
  'audit.record-broken': (p) =>
    Number(p['places']) === 0
      ? 'The seal does not fit this record: limpid verify says what was changed.'
      : `${p['first']}${Number(p['places']) > 1 ? ` ${Number(p['places']) - 1} more; the report lists them under "Seal".` : ''}`,
  'audit.not-handed-over': () => 'The run ended without a name under it.',
  'audit.not-sealed': (p) =>
    p['by'] === undefined ? 'The run is over and its record is not sealed.' : String(p['told'] || sealNotHere(p)),
  'audit.own': (p) =>
    `${p['title']}: ${few(p['value'])}${p['unit'] ? ` ${p['unit']}` : ''} (${p['op']} ${few(p['limit'])}).`,
};

/** Why a rule cannot be held to a run. */
const inapplicable: Texts = {
  'audit.because-no-visit': () => 'No emitter was opened alone in this record.',
  'audit.because-no-emitter': () => 'The record names no emitter.',
  'audit.because-no-event': () => 'The recording has no events.',
  'audit.because-no-flow-no-event': () => 'Neither taps nor flow were recorded.',
  'audit.because-no-sample': () => 'There are no readings.',
  'audit.because-no-turbidity': () => 'Turbidity was not measured.',
  'audit.because-no-flow': () => 'Flow was not measured.',
  'audit.because-no-pressure': () => 'Pressure was not measured.',
  'audit.because-no-temperature': () => 'Temperature was not measured.',
  'audit.because-no-flow-no-temperature': () => 'Neither flow nor return temperature was measured.',
  'audit.because-no-conductivity': () => 'Conductivity was not measured at the end of the rinse.',
  'audit.because-cleaner-hardly-conducts': () =>
    'The cleaner hardly conducts: conductivity does not tell how much is left.',
  'audit.because-no-cleaner': () => 'No cleaner was recorded as added.',
  'audit.because-no-inhibitor': () => 'No inhibitor was recorded as added.',
  'audit.because-dose-share-untold': () => 'No label rate with the litres of the system says what the dose should be.',
  'audit.because-strength-untold': () =>
    'Neither a test nor a label rate with litres says how strong the inhibitor is.',
  'audit.because-circulation-unmeasured': () =>
    'Flow or return temperature was not measured, and no minutes were typed in.',
  'audit.because-no-after-test': () => 'The water was not tested after the work.',
  'audit.because-no-survey': () => 'No survey says how much water there is.',
  'audit.because-no-fill': () => 'No litres were metered or typed in for the fill.',
  'audit.because-no-fill-no-flow': () => 'Flow was not measured, and no litres were typed in for the fill.',
  'audit.because-fill-not-from-empty': () => 'The system was not filled from empty, so the fill does not measure it.',
  'audit.because-no-contact-time': () => 'No contact time was typed in from the label.',
  'audit.because-no-hold': () => 'No pressure hold was made.',
  'audit.because-hold-unmeasured': () => 'Too little pressure was measured during the hold.',
  'audit.because-no-certificate': () => 'No certificate of calibration was used.',
  'audit.because-calibration-untold': () => 'The recording does not say how the kit was calibrated.',
  'audit.because-no-hello': () => 'The kit did not say who it is.',
  'audit.because-no-chain': () => 'The recording came without its chain of events.',
  'audit.because-no-wall-time': () => 'No clock times stand beside the events.',
  'audit.because-unproved': () => 'The recording came without chain or seal: nothing can be proved or disproved.',
  'audit.because-open-vented': () => 'Open-vented: pressure is the height of the feed tank.',
  'audit.because-simulated': () => 'The water was simulated.',
  'audit.because-rinse-untold': () => 'Nothing could be told at the end of the rinse.',
  'audit.because-under-way': () => 'This part of the run is still under way.',
  'audit.because-not-reached': () => 'The run has not come so far.',
  'audit.because-part-recorded': () => 'This record follows the work on the emitters and the rinse only.',
  'audit.because-stage-untold': () => 'This stage was not entered.',
  'audit.because-stage-skipped-why': (p) => `The stage was left out. ${reason(p['why'])}`,
  'audit.because-no-figure': (p) => `"${p['figure']}" was not measured in this run.`,
};

/** What can be wrong with a rules file. */
const refusals: Texts = {
  'audit.no-recording': (p) =>
    `${p['folder']} holds no recording that can be read. Each is a folder of its own with recording.csv and context.json in it.`,
  'audit.rules-json': (p) => `${p['file']} is no JSON (${p['detail']}). Mend the place it names.`,
  'audit.rules-form': (p) => `${p['file']}: ${p['where']}: ${p['detail']}. docs/audit.md shows the form.`,
  'audit.rules-unknown': (p) => `${p['file']}: rules.${p['id']}: there is no rule of that name.${p['hint']}`,
  'audit.rules-threshold': (p) =>
    `${p['file']}: rules.${p['id']}.thresholds.${p['name']}: this rule has no such threshold; it has ${p['known']}.`,
  'audit.rules-range': (p) =>
    `${p['file']}: rules.${p['id']}.thresholds.${p['name']}: ${p['value']} is outside ${p['least']} to ${p['most']} ${p['unit']}.`,
  'audit.rules-own-id': (p) =>
    `${p['file']}: own: "${p['id']}" is the name of a rule already. Give the firm's rule another id.`,
  'audit.rules-figure': (p) =>
    `${p['file']}: own.${p['id']}: there is no figure "${p['figure']}".${p['hint']} docs/audit.md lists all.`,
};

/** Sentences of the audit, by code. */
export const auditTexts: Texts = { ...findings, ...inapplicable, ...refusals };
