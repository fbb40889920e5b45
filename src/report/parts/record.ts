import { cautions, isCaution } from '../../core/job/stages/cautions.ts';
import { checkLabel } from '../../core/job/stages/check-label.ts';
import { stageOf } from '../../core/job/stages.ts';
import { whoWords } from '../../core/job/who.ts';
import { alarmWords, priorityOf } from '../alarm-words.ts';
import type { Block, Section } from '../block.ts';
import { duration, figure, moment } from '../fact.ts';
import { dataNumber, dataText, eventsNamed } from '../../core/audit/gather.ts';
import { nameOf } from '../../core/audit/outcome.ts';
import type { LoggedEvent } from '../../core/audit/record.ts';
import type { Gathered } from '../gather.ts';
import { putRight } from './put-right.ts';
import { type About, allExceptions } from './summary.ts';

/** Overrides, skips, cautions, notes, photos, gaps in the readings, and all that is not recorded. */
export function recordSection(
  g: Gathered,
  { notMeasured, exceptions }: Pick<About, 'notMeasured' | 'exceptions'>,
): Section {
  const missing: Block = {
    kind: 'table',
    caption: 'Not measured or not recorded, and why',
    columns: [
      { title: 'What', share: 0.4 },
      { title: 'Why there is nothing', share: 0.6 },
    ],
    rows: notMeasured.map((n) => [n.label, n.because]),
    none: 'Nothing is missing.',
  };
  return {
    id: 'record',
    title: 'Decisions, cautions, notes, gaps',
    blocks: [
      ...allExceptions(exceptions),
      decisions(g),
      alarmsRaised(g),
      cautionsRead(g),
      ...putRight(g),
      notes(g),
      ...gaps(g),
      missing,
    ],
  };
}

const emitterOr = (g: Gathered, id: string, none: string): string => (id === '' ? none : nameOf(g, id));

function decisions(g: Gathered): Block {
  const told = g.active
    .filter((e) => e.event.event === 'override' || e.event.event === 'skip')
    .map((e) => ({
      timeS: e.event.timeS,
      row: [e.event.event, emitterOr(g, e.event.emitter, 'the stage'), e.who, e.event.note],
    }));
  const left = g.stays
    .filter((s) => s.why !== '')
    .map((s) => ({ timeS: s.toS, row: ['went on', stageOf(s.stage)?.title ?? s.stage, s.leftBy, s.why] }));
  const rows = [...told, ...left].toSorted((a, b) => a.timeS - b.timeS);
  return {
    kind: 'table',
    caption: 'Overrides, skips and stages left for a reason',
    columns: [
      { title: 'At', share: 0.12, end: true },
      { title: 'What', share: 0.13 },
      { title: 'Emitter or stage', share: 0.25 },
      { title: 'By', share: 0.15 },
      { title: 'Reason', share: 0.35 },
    ],
    rows: rows.map(({ timeS, row: [what = '', where = '', who = '', why = ''] }) => [
      moment(timeS),
      what,
      where,
      whoWords(who) || '-',
      why || 'none was given',
    ]),
    none: 'None.',
  };
}

function alarmsRaised(g: Gathered): Block {
  const seen = eventsNamed(g, 'alarm-acknowledge');
  return {
    kind: 'table',
    caption: 'Alarms raised',
    columns: [
      { title: 'At', share: 0.12, end: true },
      { title: 'Alarm', share: 0.44 },
      { title: 'Priority', share: 0.14 },
      { title: 'Acknowledged', share: 0.3 },
    ],
    rows: g.driven.alarms.map(({ atS, kind }) => {
      const by = seen.find((e) => e.event.timeS >= atS && e.event.note === kind);
      const answer = by ? `at ${moment(by.event.timeS)}${by.who === '' ? '' : `, ${whoWords(by.who)}`}` : 'not told';
      return [moment(atS), alarmWords(kind), priorityOf(kind), answer];
    }),
    none: 'None rose.',
  };
}

function cautionsRead(g: Gathered): Block {
  return {
    kind: 'table',
    caption: 'Cautions acknowledged',
    columns: [
      { title: 'At', share: 0.12, end: true },
      { title: 'By', share: 0.2 },
      { title: 'Caution', share: 0.68 },
    ],
    rows: eventsNamed(g, 'caution-read').map(({ event, who }) => [
      moment(event.timeS),
      whoWords(who) || '-',
      cautionWords(event.note),
    ]),
    none: 'None was marked as read.',
  };
}

/** A caution is marked as read by its id. */
function cautionWords(id: string): string {
  return isCaution(id) ? `${cautions[id].title}. ${cautions[id].text}` : id || '-';
}

/** Marks of the record in words. */
const markWords: Readonly<Record<string, string>> = {
  note: 'Note',
  weighed: 'Sludge weighed',
  photo: 'Photo',
  pause: 'Paused',
  resume: 'Gone on',
  'chamber-emptied': 'Chamber emptied',
  vent: 'Vented',
  'flow-reverse': 'Flow reversed',
  'flow-forward': 'Flow forward again',
  check: 'Ticked',
};

function notes(g: Gathered): Block {
  return {
    kind: 'table',
    caption: 'Notes and other marks',
    columns: [
      { title: 'At', share: 0.12, end: true },
      { title: 'What', share: 0.2 },
      { title: 'Emitter', share: 0.2 },
      { title: 'Words', share: 0.48 },
    ],
    rows: g.active
      .filter((e) => markWords[e.event.event] !== undefined)
      .map((e) => [
        moment(e.event.timeS),
        markWords[e.event.event] ?? e.event.event,
        emitterOr(g, e.event.emitter, '-'),
        wordsOf(e),
      ]),
    none: 'None.',
  };
}

function wordsOf({ event }: LoggedEvent): string {
  const grams = dataNumber(event, 'grams');
  const hash = dataText(event, 'sha256');
  const done = event.event === 'check' ? checkWords(event) : event.note;
  const parts = [done, grams === null ? '' : figure(grams, 'g'), hash === '' ? '' : `SHA-256 ${hash}`];
  return parts.filter((p) => p !== '').join('; ') || '-';
}

/** A tick in the words of its stage, and whether it was taken off again. */
function checkWords({ note, data }: LoggedEvent['event']): string {
  return `${checkLabel(note)}${data?.['done'] === false ? ': taken off' : ''}`;
}

/** A broken sensor makes hundreds; the recording has them all. */
const mostGaps = 40;

function gaps(g: Gathered): Block[] {
  const table: Block = {
    kind: 'table',
    caption: 'Gaps in the readings of over 10 s',
    columns: [
      { title: 'From', share: 0.2, end: true },
      { title: 'To', share: 0.2, end: true },
      { title: 'Length', share: 0.2, end: true },
      { title: 'What was missing', share: 0.4 },
    ],
    rows: g.gaps
      .slice(0, mostGaps)
      .map((gap) => [moment(gap.fromS), moment(gap.toS), duration(gap.toS - gap.fromS), gap.what]),
    none: 'None.',
  };
  if (g.gaps.length <= mostGaps) return [table];
  return [table, { kind: 'text', text: `And ${g.gaps.length - mostGaps} more; the recording holds them all.` }];
}
