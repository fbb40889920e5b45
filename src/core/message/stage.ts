import type { Texts } from './texts.ts';

const n = (v: string | number | undefined, digits: number): string => Number(v ?? Number.NaN).toFixed(digits);

/** One visit: which, its passes, what came of them. */
const visited = (p: Readonly<Record<string, string | number>>): string =>
  [
    `${p['visit']}: ${p['passes']} ${p['passes'] === 1 ? 'pass' : 'passes'}`,
    `${p['pulses']} ${p['pulses'] === 1 ? 'pulse' : 'pulses'}`,
    ...(p['peakNtu'] === undefined ? [] : [`peak ${n(p['peakNtu'], 0)} NTU`]),
  ].join(', ');

/** What stages miss and remark, by code: one sentence each, with what to do. */
export const stageTexts = {
  'stage.tick': (p) => `Not ticked yet: ${p['what']}.`,
  'stage.caution': (p) => `Read and confirm the caution: ${p['title']}.`,
  'stage.survey-emitter': () => 'List at least one emitter.',
  'stage.survey-volume': () => 'The survey gives no volume yet: mend what is named below.',
  'stage.rate': (p) => `Type the label rate of the ${p['what']}.`,
  'stage.soft-mallet': (p) => `Soft mallet only: ${p['emitters']}.`,
  'stage.mains': () => 'Test the mains water: turbidity, conductivity, or both. The rinse goes by it.',
  'stage.after-test': () => 'Test the system water.',
  'stage.outside': (p) => `${p['what']} is outside its limit: ${p['found']}, limit ${p['limit']}.`,
  'stage.swapped': (p) =>
    `By ${p['items']} the mains are dirtier than the system. Were the samples swapped? Test them again.`,
  'stage.hold': () => 'Hold the pressure: two minutes or more.',
  'stage.hold-leak': () => 'Pressure falls: find the leak.',
  'stage.hold-rising': () => 'Pressure climbs: shut the filling loop.',
  'stage.hold-longer': () => 'Hold on: it is not sure yet.',
  'stage.no-pressure-sensor': () =>
    'This kit has no pressure sensor: a leak cannot be told. Watch the joints and read the gauge.',
  'stage.fill-unknown': () => 'Read the pressure off the gauge and type it.',
  'stage.fill-low': () => 'Fill until the pressure is inside its band.',
  'stage.fill-high': () => 'Pressure is over its band: let some water out.',
  'stage.near-relief': () => 'Close to the relief valve. Shut the filling loop and let water out now.',
  'stage.more-than-surveyed': (p) =>
    `The fill took ${n(p['difference'], 0)} l more than the survey: something holds water that was not listed.`,
  'stage.less-than-surveyed': (p) =>
    `The fill took ${n(p['difference'], 0)} l less than the survey: air is left, or valves are shut.`,
  'stage.dose': (p) => `Add the ${p['what']} and type its litres.`,
  'stage.contact': (p) => `Contact time: ${p['minutes']} min to go.`,
  'stage.mixed': () => 'Let it go round until it is mixed.',
  'stage.no-conductivity-sensor': () =>
    'This kit has no conductivity sensor: neither mixing nor what is left of the cleaner can be told. Contact time serves.',
  'stage.hardly-conducts': () =>
    'This cleaner hardly conducts: its share cannot be told by conductivity. Contact time serves.',
  'stage.dose-not-seen': () => 'No conductivity from before the dose: mixing cannot be told. Contact time serves.',
  'stage.dose-short': (p) => `That is about ${n(p['percent'], 0)} % of what the label wants.`,
  'stage.dose-over': (p) => `That is about ${n(p['percent'], 0)} % of what the label wants: more than enough.`,
  'stage.overdose': (p) => `Far too much ${p['what']}: about ${n(p['percent'], 0)} % of what the label wants.`,
  'stage.overdose-cleaner': (p) =>
    `Far too much cleaner: about ${n(p['percent'], 0)} % of what the label wants. Typed wrong? Put it right at the foot of the page. If it is in, rinse longer, and check label and safety sheet for the materials, and the local rules for where this water may go.`,
  'stage.overdose-inhibitor': (p) =>
    `Far too much inhibitor: about ${n(p['percent'], 0)} % of what the label wants. Typed wrong? Put it right at the foot of the page. If it is in, let water out and fill up until its test is right; check the label for the materials, and the local rules for where this water may go.`,
  'stage.warm': (p) => `Heat until the return is at ${n(p['target'], 0)} °C.`,
  'stage.hot': (p) => `Return at ${n(p['celsius'], 0)} °C: it scalds.`,
  'stage.no-return-sensor': () => 'No return temperature comes from the kit: read it by hand and type it.',
  'stage.half-practice': () => 'About half is common practice, no source; the litres are estimates from the survey.',
  'stage.solids-estimate': () =>
    'Solids are an estimate from turbidity and flow: 0.75 to 2.25 mg in a litre for one NTU, from memory. Dark oxide and clay scatter differently.',
  'stage.chamber-soon': (p) =>
    `The chamber is about ${n(p['percent'], 0)} % full (± ${n(p['spread'], 0)}, estimate): empty it after this emitter, and say so.`,
  'stage.chamber-now': (p) =>
    `The chamber may be full: ${n(p['percent'], 0)} % (± ${n(p['spread'], 0)}, estimate). Empty it now, and say so.`,
  'stage.hands-over-action': (p) =>
    `Hands: ${n(p['points'], 0)} points today, over the action value of ${p['action']}: take turns or change the tool; ${p['minutes']} min to the limit.`,
  'stage.hands-over-limit': (p) =>
    `Hands: ${n(p['points'], 0)} points today, over the limit value of ${p['limit']}: no more of this tool today for these hands.`,
  'stage.never-clears': (p) =>
    `Dirt still comes after ${p['passes']} passes: dwell, reverse the flow, take it off and wash it, or go on and come back.`,
  'stage.passes-likely': (p) =>
    `Likely ${p['more']} passes more, ${n(p['minutes'], 0)} min (${n(p['from'], 0)} to ${n(p['to'], 0)}).`,
  'stage.never-clears-in': (p) =>
    `Dirt still comes after ${p['passes']} passes; by the last ones likely ${p['more']} more, ${n(p['minutes'], 0)} min (${n(p['from'], 0)} to ${n(p['to'], 0)}); or dwell, reverse the flow, take it off and wash it.`,
  'stage.never-clears-flat': (p) =>
    `Dirt still comes after ${p['passes']} passes and hardly less each time, over ${n(p['from'], 0)} min more: dwell, reverse the flow, or take it off and wash it.`,
  'job.left-guess': (p) => `guess: ${p['about']} left (${p['from']} to ${p['to']})`,
  'job.left': (p) => `${p['about']} left (${p['from']} to ${p['to']})`,
  'job.when-done-first-guess': (p) =>
    `All done in about ${p['about']} (${p['from']} to ${p['to']}): a first guess, no emitter is done yet.`,
  'job.when-done-stages': (p) =>
    `All done in about ${p['about']} (${p['from']} to ${p['to']}), by what the stages usually take.`,
  'job.when-done-few-visits': (p) => `All done in about ${p['about']} (${p['from']} to ${p['to']}), by few visits.`,
  'job.when-done-visits': (p) => `All done in about ${p['about']} (${p['from']} to ${p['to']}).`,
  'job.visit-now': (p) => `Visit ${visited(p)}; now.`,
  'job.visit-done': (p) => `Visit ${visited(p)}; done.`,
  'job.visit-left': (p) => `Visit ${visited(p)}; left before it was done.`,
  'stage.emitters': (p) => `${p['count']} ${Number(p['count']) === 1 ? 'emitter is' : 'emitters are'} not done yet.`,
  'stage.circulate': (p) => `${p['minutes']} min at flow and temperature to go.`,
  'stage.clock-gap': () => 'The clock stands: no readings come.',
  'stage.clock-not-measured': (p) => `The clock stands: ${p['what']} is not measured.`,
  'stage.clock-low': (p) =>
    `The clock stands: ${p['what']} ${n(p['value'], 1)} ${p['unit']}, at least ${p['limit']} ${p['unit']} needed.`,
  'stage.clock-high': (p) =>
    `The clock stands: ${p['what']} ${n(p['value'], 1)} ${p['unit']}, at most ${p['limit']} ${p['unit']} allowed.`,
  'stage.top-up': () => 'Pressure is low after venting: top it up.',
  'stage.rinse': () => 'Rinse until the water is at mains level.',
  'stage.rinse-briefly': () => 'Inside both limits: keep rinsing until that has held for a few seconds.',
  'stage.rinse-water': () => 'Keep rinsing until the water of the emitter that was opened last has come.',
  'stage.rinse-coarse': () =>
    'The kit\u2019s steps of turbidity are too coarse for mains level: measure a sample, or hold it beside mains water, and type what it is.',
  'stage.rinse-typed': () => 'Type turbidity and conductivity of the rinse water until both are at mains level.',
  'stage.rinse-own': () => 'Mains level as this run set it, in the place of what is common practice.',
  'stage.rinse-practice': () =>
    'Mains level: turbidity of the mains and conductivity within 10 % of it. Common practice; check the local standard.',
  'stage.mains-assumed': () => 'The mains were not tested in this run: the rinse goes by what was known before.',
  'stage.cleaner-left': () =>
    'More cleaner is left than the inhibitor stands (about a fifth, common practice): rinse on.',
  'stage.signed': () => 'Sign the hand-over.',
  'stage.handed-over': () => 'Handed over. Remarks from now on stand beside the record.',
  'job.stage-why': (p) =>
    `Why leave "${p['from']}" for "${p['to']}" now? ${p['missing'] || 'That is out of the usual order.'} Give the reason as a note: the record keeps it.`,
  'job.caution-unread': (p) => `First read and confirm: ${p['title']}. ${p['text']}`,
  'job.alarm-unknown': (p) => `There is no alarm called "${p['alarm']}"; there are: ${p['known']}.`,
  'job.caution-unknown': (p) => `There is no caution called "${p['caution']}".`,
  'job.pause-why': () => 'Why does the run rest? Give the reason as a note: the record keeps it.',
  'job.typed-wrong': (p) => `${p['label']}: ${p['found']} was given, ${p['expected']}. Correct it and send it again.`,
  'job.typed-unknown': (p) => `No stage asks for "${p['what']}". See docs/events.md for what can be typed.`,
  'job.limits-wrong': (p) =>
    `Limits, line ${p['line']}, ${p['column']}: found ${p['found']}, expected ${p['expected']}. Nothing of it was taken.`,
  'job.units-kind': (p) => `There is no choice of unit for "${p['kind']}"; there is one for ${p['known']}.`,
  'job.units-unknown': (p) => `"${p['unit']}" is no unit of ${p['kind']} here; choose one of ${p['known']}.`,
  'job.photo-upload': () =>
    'A photo comes with its picture: send it to /api/runs/current/photos, which makes the entry of the record itself.',
  'job.survey-wrong': (p) =>
    `Survey, line ${p['line']}, ${p['column']}: found ${p['found']}, expected ${p['expected']}. Nothing of it was taken.`,
} satisfies Texts;
