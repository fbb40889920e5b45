import { formOf } from '../../core/job/stages/forms.ts';
import type { RunEvent } from '../../core/job/event.ts';
import { whoWords } from '../../core/job/who.ts';
import type { Block, Cell } from '../block.ts';
import { figure, moment } from '../fact.ts';
import { dataText } from '../../core/audit/gather.ts';
import type { Gathered } from '../gather.ts';
import { quantity } from '../in-units.ts';

/** What was typed wrong, struck out, with what took its place, by whom and when; nothing where nothing was. */
export function putRight(g: Gathered): Block[] {
  if (g.struck.length === 0) return [];
  return [
    {
      kind: 'table',
      caption: 'Typed figures put right or taken back',
      columns: [
        { title: 'Typed at', share: 0.12, end: true },
        { title: 'What', share: 0.24 },
        { title: 'Wrong', share: 0.18 },
        { title: 'Right', share: 0.18 },
        { title: 'Put right', share: 0.28 },
      ],
      rows: g.struck.map(({ wrong, by, right }) => [
        moment(wrong.event.timeS),
        titleOf(wrong.event),
        struck(figuresOf(g, wrong.event)),
        right === null ? 'taken back' : figuresOf(g, { ...wrong.event, data: right }),
        byWhom(by),
      ]),
      none: '',
    },
  ];
}

/** `at 0:41:07 (button of the kit)`. */
export function byWhom({ event, who }: Gathered['struck'][number]['by']): string {
  return `at ${moment(event.timeS)}${who === '' ? '' : ` (${whoWords(who)})`}`;
}

export const struck = (words: string): Cell => ({ struck: words });

function titleOf(event: RunEvent): string {
  return formOf(event.event, event.data ?? {})?.title ?? (dataText(event, 'what') || event.event);
}

/** The figures of a form in one cell, each with its name where there are several. */
function figuresOf(g: Gathered, { event, data = {} }: RunEvent): string {
  const fields = formOf(event, data)?.fields ?? [];
  const said = fields.flatMap(({ name, label, unit, quantity: kind }) => {
    const value = data[name];
    if (value === undefined || value === null || value === '') return [];
    const words =
      typeof value !== 'number' ? String(value) : kind ? quantity(g, value, kind) : figure(value, unit ?? '');
    return [fields.length === 1 ? words : `${label.split(',')[0] ?? ''} ${words}`];
  });
  return said.join('; ') || '-';
}
