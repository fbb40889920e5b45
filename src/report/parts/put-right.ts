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
        { title: 'What', share: 0.2 },
        { title: 'Wrong', share: 0.22 },
        { title: 'Right', share: 0.22 },
        { title: 'Put right', share: 0.24 },
      ],
      rows: g.struck
        .toSorted((a, b) => a.wrong.event.timeS - b.wrong.event.timeS)
        .map(({ wrong, by, right }) => {
          const changed = right === null ? null : changedNames(wrong.event.data ?? {}, right);
          return [
            moment(wrong.event.timeS),
            titleOf(wrong.event),
            struck(figuresOf(g, wrong.event, changed)),
            right === null ? 'taken back' : figuresOf(g, { ...wrong.event, data: right }, changed),
            byWhom(by),
          ];
        }),
      none: '',
    },
  ];
}

/** `at 0:41:07 (the kit)`. */
export function byWhom({ event, who }: Gathered['struck'][number]['by']): string {
  return `at ${moment(event.timeS)}${who === '' ? '' : ` (${whoWords(who)})`}`;
}

export const struck = (words: string): Cell => ({ struck: words });

function titleOf(event: RunEvent): string {
  return formOf(event.event, event.data ?? {})?.title ?? (dataText(event, 'what') || event.event);
}

type Data = NonNullable<RunEvent['data']>;

/** The figures that differ: those that were right must not look wrong. Null: none does, so all are shown. */
function changedNames(wrong: Data, right: Data): ReadonlySet<string> | null {
  const names = [...new Set([...Object.keys(wrong), ...Object.keys(right)])];
  const changed = names.filter((name) => (wrong[name] ?? '') !== (right[name] ?? '') && !about.has(name));
  return changed.length === 0 ? null : new Set(changed);
}
/** What a correction says of itself, and what its figures are of. */
const about = new Set(['corrects', 'of', 'what', 'water']);

/** The figures of a form in one cell, each with its name where the form has several. @param of these alone; null: all */
function figuresOf(g: Gathered, { event, data = {} }: RunEvent, of: ReadonlySet<string> | null): string {
  const fields = formOf(event, data)?.fields ?? [];
  const said = fields.flatMap(({ name, label, unit, quantity: kind }) => {
    const value = data[name];
    if (value === undefined || value === null || value === '' || of?.has(name) === false) return [];
    const words =
      typeof value !== 'number' ? String(value) : kind ? quantity(g, value, kind) : figure(value, unit ?? '');
    return [fields.length === 1 ? words : `${label.split(',')[0] ?? ''} ${words}`];
  });
  return said.join('; ') || '-';
}
