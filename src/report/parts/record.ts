import { cautions, isCaution } from '../../core/job/stages/cautions.ts';
import type { Section } from '../block.ts';
import { duration, figure, moment } from '../fact.ts';
import type { NotMeasured } from '../facts.ts';
import { dataNumber, dataText, eventsNamed, type Gathered, type LoggedEvent } from '../gather.ts';

const nameOf = (g: Gathered, id: string): string =>
  g.driven.context.emitters.find((e) => e.id === id)?.name ?? (id || '-');

/** Overrides, skips, cautions, notes, photos, and gaps in the readings. */
export function recordSection(g: Gathered, notMeasured: readonly NotMeasured[]): Section {
  const decided = g.active.filter((e) => e.event.event === 'override' || e.event.event === 'skip');
  const words = g.active.filter((e) =>
    [
      'note',
      'weighed',
      'photo',
      'pause',
      'resume',
      'chamber-emptied',
      'vent',
      'flow-reverse',
      'flow-forward',
      'check',
    ].includes(e.event.event),
  );
  return {
    id: 'record',
    title: 'Decisions, cautions, notes, gaps',
    blocks: [
      {
        kind: 'table',
        caption: 'Overrides and skips, with their reasons',
        columns: [
          { title: 'At', share: 0.12, end: true },
          { title: 'What', share: 0.13 },
          { title: 'Emitter or stage', share: 0.25 },
          { title: 'By', share: 0.15 },
          { title: 'Reason', share: 0.35 },
        ],
        rows: decided.map((e) => [
          moment(e.event.timeS),
          e.event.event,
          nameOf(g, e.event.emitter),
          e.who || '-',
          e.event.note || 'none was given',
        ]),
        none: 'None.',
      },
      {
        kind: 'table',
        caption: 'Cautions acknowledged',
        columns: [
          { title: 'At', share: 0.12, end: true },
          { title: 'By', share: 0.2 },
          { title: 'Caution', share: 0.68 },
        ],
        rows: eventsNamed(g, 'caution-read').map((e) => [
          moment(e.event.timeS),
          e.who || '-',
          cautionWords(e.event.note),
        ]),
        none: 'None was marked as read.',
      },
      {
        kind: 'table',
        caption: 'Notes and other marks',
        columns: [
          { title: 'At', share: 0.12, end: true },
          { title: 'What', share: 0.2 },
          { title: 'Emitter', share: 0.2 },
          { title: 'Words', share: 0.48 },
        ],
        rows: words.map((e) => [moment(e.event.timeS), e.event.event, nameOf(g, e.event.emitter), wordsOf(e)]),
        none: 'None.',
      },
      {
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
      },
      {
        kind: 'table',
        caption: 'Not measured or not recorded, and why',
        columns: [
          { title: 'What', share: 0.4 },
          { title: 'Why there is nothing', share: 0.6 },
        ],
        rows: notMeasured.map((n) => [n.label, n.because]),
        none: 'Nothing is missing.',
      },
      ...(g.gaps.length > mostGaps
        ? [{ kind: 'text' as const, text: `And ${g.gaps.length - mostGaps} more; the recording holds them all.` }]
        : []),
    ],
  };
}

/** A broken sensor makes hundreds; the recording has them all. */
const mostGaps = 40;

function wordsOf({ event }: LoggedEvent): string {
  const grams = dataNumber(event, 'grams');
  const parts = [
    event.note,
    grams === null ? '' : figure(grams, 'g'),
    dataText(event, 'sha256') && `SHA-256 ${dataText(event, 'sha256')}`,
  ];
  return parts.filter((p) => p !== '').join('; ') || '-';
}

/** A caution is marked as read by its id. */
function cautionWords(id: string): string {
  return isCaution(id) ? `${cautions[id].title}. ${cautions[id].text}` : id || '-';
}
