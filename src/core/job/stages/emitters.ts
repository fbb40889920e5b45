import type { EmitterGave } from '../emitter-gave.ts';
import { emitterGave } from '../emitter-gave.ts';
import { alarmLimits } from '../../alarm/rules.ts';
import type { Message } from '../../message/message.ts';
import { coverage, type Uncertain } from '../../quantity/interval.ts';
import { type HandsToday, handsToday } from '../hands.ts';
import { passesLeft } from '../never-clears.ts';
import { chamberLoad, type ChamberLoad } from '../solids.ts';
import { actionPoints, limitPoints } from '../vibration.ts';
import {
  type Action,
  type Condition,
  need,
  type Look,
  type StageSpec,
  type Table,
  typedFigure,
  typedForm,
} from './stage.ts';

function loadOf({ job, live }: Look): ChamberLoad | null {
  const { chamber } = live.dirt;
  return chamber && chamberLoad(chamber.came.grams, chamber.keptShare, typedFigure(job, 'chamber-grams'));
}

/** The emitter under work. */
function openOf(look: Look): EmitterGave | null {
  const { openEmitter } = look.job;
  return openEmitter === null ? null : emitterGave(look, openEmitter);
}

function solidsConditions(look: Look): Condition[] {
  const { all } = look.live.dirt;
  const open = openOf(look);
  const grams = (id: string, label: string, g: Uncertain | null): Condition => ({
    id,
    label,
    value: g?.value ?? null,
    u: g?.u ?? null,
    unit: 'g',
    decimals: g && g.value >= 20 ? 0 : 1,
    ...(g ? { note: 'estimate' } : { words: 'nothing yet' }),
  });
  return [
    ...(open ? [grams('solids-open', `Solids out of ${open.name}`, open.solidsG)] : []),
    grams('solids', 'Solids carried in all', all?.grams ?? null),
  ];
}

function chamberCondition(look: Look): Condition {
  const got = loadOf(look);
  const by = look.live.dirt.chamber?.isMeasured ? 'kept share measured' : 'kept share guessed';
  const load = got?.load ?? null;
  return {
    id: 'chamber',
    label: look.job.chamberEmptiedS === null ? 'Chamber, loaded' : 'Chamber, loaded since emptied',
    value: load ? 100 * load.value : (got?.grams.value ?? null),
    u: load ? 100 * load.u : (got?.grams.u ?? null),
    unit: load ? '%' : 'g',
    decimals: load ? 0 : 1,
    ...(load ? { most: 80 } : {}),
    ...(got ? { note: `estimate, ${by}${load ? '' : '; type what it holds'}` } : { words: 'nothing yet' }),
  };
}

function flowConditions(look: Look): Condition[] {
  const open = openOf(look);
  if (!open) return [];
  return [
    {
      id: 'transit',
      label: 'Transit at this flow',
      value: open.transitS,
      unit: 's',
      decimals: 0,
      ...(open.transitS === null ? { words: 'no flow to tell by' } : { note: `${open.transitL.toFixed(1)} l` }),
    },
    {
      id: 'to-drop',
      label: `To half-fill ${open.name}, drop`,
      value: open.toDropL,
      kind: 'volume',
      decimals: 1,
      note: 'common practice',
    },
  ];
}

function handsCondition(hands: HandsToday): Condition {
  const minutes = (hands.triggerS / 60).toFixed(1);
  const points = hands.day?.points ?? null;
  const left = hands.toActionS ?? 0;
  const note = [
    `${minutes} min on the tool`,
    hands.earlierPoints > 0 ? `${hands.earlierPoints} points from before` : '',
    points !== null && points < actionPoints ? `${Math.floor(left / 60)} min to the action value` : '',
    points !== null && points >= actionPoints && points <= limitPoints
      ? `${Math.floor((hands.toLimitS ?? 0) / 60)} min to the limit value`
      : '',
  ];
  return {
    id: 'vibration',
    label: 'Vibration of the hands today',
    value: points,
    unit: 'points',
    decimals: 0,
    most: actionPoints,
    note: note.filter((t) => t !== '').join('; '),
    ...(points === null ? { words: 'type the tool\u2019s figure' } : {}),
  };
}

/** What must not be missed while emitters are worked on: first what stops the work. */
export function workRemarks(look: Look): Message[] {
  const hands = handsToday(look.job);
  const load = loadOf(look);
  const percent = load?.load ? { percent: 100 * load.load.value, spread: 100 * coverage * load.load.u } : {};
  const points = hands.day?.points ?? 0;
  return [
    ...(hands.day?.stand === 'over-limit' ? [need('hands-over-limit', { points, limit: limitPoints })] : []),
    ...(load?.empty === 'now' ? [need('chamber-now', percent)] : []),
    ...(load?.empty === 'soon' ? [need('chamber-soon', percent)] : []),
    ...neverClears(look),
    ...(hands.day?.stand === 'over-action'
      ? [need('hands-over-action', { points, action: actionPoints, minutes: Math.floor((hands.toLimitS ?? 0) / 60) })]
      : []),
  ];
}

/** What passes alone would likely still take, for beside the alarm; null where it cannot be told. */
export function passesLikely(look: Look): Message | null {
  const visit = look.visits.at(-1);
  if (!visit || visit.toS !== null) return null;
  const left = passesLeft(visit, look.line.backgroundNtu ?? 0, Math.max(1, 3 * (look.line.noiseNtu ?? 0)));
  if (!left || left.toMin === null) return null;
  return need('passes-likely', { more: left.passes, minutes: left.minutes, from: left.fromMin, to: left.toMin });
}

/** After so many passes without an end: what can be done, and how long passes alone would likely take. */
function neverClears(look: Look): Message[] {
  const visit = look.visits.at(-1);
  if (!visit || visit.toS !== null || visit.verdict.done) return [];
  const passes = visit.passesS.length;
  if (passes < (alarmLimits.passes ?? Infinity)) return [];
  const { backgroundNtu, noiseNtu } = look.line;
  const left = passesLeft(visit, backgroundNtu ?? 0, Math.max(1, 3 * (noiseNtu ?? 0)));
  if (!left) return [need('never-clears', { passes })];
  const params = { passes, more: left.passes, minutes: left.minutes, from: left.fromMin };
  return [
    left.toMin === null ? need('never-clears-flat', params) : need('never-clears-in', { ...params, to: left.toMin }),
  ];
}

function deeds({ job }: Look): Action[] {
  return [
    { event: 'chamber-emptied', label: 'Chamber emptied' },
    job.isReversed
      ? { event: 'flow-forward', label: 'Flow forward again' }
      : { event: 'flow-reverse', label: 'Flow reversed' },
    { event: 'vent', label: 'Vented', emitter: job.openEmitter ?? '' },
    job.pumpOn === false
      ? { event: 'rig-pump-on', label: 'Pump on again' }
      : { event: 'rig-pump-off', label: 'Pump stopped' },
  ];
}

const tableWords = { 'to-come': '', open: 'now', shut: 'left', done: 'done', skipped: 'skipped' } as const;

function table(look: Look): Table | null {
  if (look.job.emitters.length === 0) return null;
  return {
    title: 'What each one gave; solids are estimates',
    head: ['Emitter', 'Passes', 'Pulses', 'Peak, NTU', 'Solids, g', 'Drop', ''],
    rows: look.job.emitters.map(({ id, status }) => {
      const g = emitterGave(look, id);
      const grams = g.solidsG ? `${g.solidsG.value.toFixed(1)} \u00b1 ${(coverage * g.solidsG.u).toFixed(1)}` : '';
      return [
        g.name,
        g.passes === 0 ? '' : String(g.passes),
        g.passes === 0 ? '' : String(g.pulses),
        g.peakNtu === null ? '' : g.peakNtu.toFixed(0),
        grams,
        `${g.toDropL.toFixed(1)} l`,
        tableWords[status === 'shut' && g.visits.at(-1)?.verdict.done === true ? 'done' : status],
      ];
    }),
  };
}

/** The heart of the run has a page of its own; this is what stands behind it, one touch away. */
export const emitters: StageSpec = {
  name: 'emitters',
  steps: () => [
    'Open one emitter, shut all others.',
    'Shake its lower edge in four to five sweeps, press Pass done, and watch the return.',
    'Repeat until a pass brings nothing; then the next.',
  ],
  cautions: ['scald', 'vibration', 'brittle'],
  conditions: (look) => [
    ...flowConditions(look),
    ...solidsConditions(look),
    chamberCondition(look),
    handsCondition(handsToday(look.job)),
  ],
  deeds,
  forms: () => [
    typedForm(
      'vibration-m-s2',
      { step: 0.5, decimals: 1, start: 5 },
      'From the tool\u2019s own sheet; what the hand feels is often more. Passes are taken as time on the trigger.',
    ),
    typedForm(
      'vibration-earlier',
      { step: 10, decimals: 0, start: 0 },
      'Typed again it begins the day anew, with these points.',
    ),
    typedForm('chamber-grams', { step: 50, decimals: 0, start: 500 }, 'Dry solids, until it is full.'),
  ],
  table,
  remarks: (look) => [...workRemarks(look), need('solids-estimate')],
  gate: ({ job, visits }) => {
    const isDone = (id: string): boolean => visits.findLast((v) => v.emitter === id)?.verdict.done === true;
    const left = job.emitters.filter((e) => e.status !== 'skipped' && !(e.status === 'shut' && isDone(e.id)));
    return left.length === 0 ? [] : [need('emitters', { count: left.length })];
  },
};
