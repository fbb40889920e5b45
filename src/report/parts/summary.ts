import type { Block, Section } from '../block.ts';
import type { Facts, NotMeasured } from '../facts.ts';
import { count, figure, isSaid } from '../fact.ts';
import type { Gathered } from '../gather.ts';
import { type EmitterRow, emitterRows, resultWords } from './emitter-rows.ts';
import { type SampleRow, sampleRows } from './sample-rows.ts';

export interface About {
  readonly facts: Facts;
  readonly exceptions: readonly string[];
  readonly notMeasured: readonly NotMeasured[];
  readonly headline: string;
}

/** So many exceptions stand on the first page; of more the last line says where all of them are. */
const mostExceptions = 7;

/** Of a long list the first few; the rest is told by its number, and listed whole further on. */
function firstFew(items: readonly string[]): string[] {
  if (items.length <= mostExceptions) return [...items];
  const rest = items.length - mostExceptions + 1;
  return [...items.slice(0, mostExceptions - 1), `and ${rest} more, all under "Decisions, cautions, notes, gaps"`];
}

/** The whole list, where the first page has no room for it. */
export function allExceptions(items: readonly string[]): Block[] {
  return items.length <= mostExceptions ? [] : [{ kind: 'list', title: 'All exceptions, the gravest first', items }];
}

/** The first page: who, where, when, what was done, what came of it, exceptions first, and what was not measured. */
export function summarySection(g: Gathered, { facts, exceptions, notMeasured, headline }: About): Section {
  const { sludge, photos } = facts;
  const { site, client, engineer, started, ended, system, kit, cleaner, inhibitor, nextCheck, seal } = facts;
  const tested = waterRows(g);
  const rows = fewRows(emitterRows(g), 12 - tested.length - Math.max(0, exceptions.length - 4)).map((r) => {
    const passes = r.visits.reduce((sum, v) => sum + v.visit.passesS.length, 0);
    const peaks = r.visits.flatMap((v) => v.visit.pulses.flatMap((p) => (p.peakNtu === null ? [] : [p.peakNtu])));
    const peak = peaks.length > 0 ? figure(Math.max(...peaks), 'NTU') : r.visits.length === 0 ? '-' : 'none seen';
    return [r.name, r.visits.length === 0 ? '-' : count(passes, 'pass', 'passes'), peak, resultWords[r.result]];
  });
  const left = emitterRows(g).length - rows.length;
  return {
    id: 'summary',
    title: 'Summary',
    blocks: [
      { kind: 'big', text: headline },
      {
        kind: 'facts',
        rows: [
          ...[site, client, engineer, started, ended, system, kit, cleaner, inhibitor, nextCheck],
          ...[sludge, photos].filter(({ fact }) => isSaid(fact)),
          seal,
        ],
      },
      {
        kind: 'list',
        title: 'Exceptions',
        items: exceptions.length > 0 ? firstFew(exceptions) : ['None found in what was recorded.'],
      },
      {
        kind: 'table',
        caption: 'Result of each emitter. Done: shaken until a pass brought nothing more',
        columns: [
          { title: 'Emitter', share: 0.4 },
          { title: 'Passes', share: 0.16 },
          { title: 'Highest turbidity', share: 0.22 },
          { title: 'Result', share: 0.22 },
        ],
        rows: left === 0 ? rows : [...rows, [`and ${left} more, under "Emitter by emitter"`, '', '', '']],
        none: 'No emitter is known.',
      },
      ...(tested.length === 0 ? [] : [waterTable(tested)]),
      {
        kind: 'list',
        title: 'Not measured or not recorded; the reasons stand under "Decisions, cautions, notes, gaps"',
        items: [notMeasured.length === 0 ? 'Nothing.' : `${notMeasured.map((n) => n.label).join('; ')}.`],
      },
    ],
  };
}

/** What a client can read off: the water before and after, where both were told. */
function waterRows(g: Gathered): SampleRow[] {
  return sampleRows(g)
    .filter((r) => r.after !== 'not measured' && (resultOf[r.verdict] !== undefined || telling.has(r.item)))
    .slice(0, 4);
}

/** Shown without a limit too: they tell what came out. */
const telling = new Set<SampleRow['item']>(['iron', 'copper']);

const resultOf: Readonly<Partial<Record<SampleRow['verdict'], string>>> = {
  inside: 'inside its limit',
  outside: 'OUTSIDE ITS LIMIT',
  undecided: 'at its limit',
};

function waterTable(rows: readonly SampleRow[]): Block {
  return {
    kind: 'table',
    caption: 'The water, before and after',
    columns: [
      { title: 'Test', share: 0.4 },
      { title: 'Before', share: 0.2 },
      { title: 'After', share: 0.2 },
      { title: 'Result', share: 0.2 },
    ],
    rows: rows.map((r) => [r.title, r.before, r.after, resultOf[r.verdict] ?? '-']),
    none: '',
  };
}

/** So many that the summary stays on one page: those worked on and not done first, those left out last (the exceptions name them), in their own order. */
function fewRows(all: readonly EmitterRow[], room: number): readonly EmitterRow[] {
  const most = Math.max(5, room);
  if (all.length <= most) return all;
  const worked = all.filter((r) => r.visits.length > 0);
  const open = worked.filter((r) => r.result !== 'done');
  const done = worked.filter((r) => r.result === 'done');
  const others = all.filter((r) => r.visits.length === 0);
  const shown = new Set([...open, ...done, ...others].slice(0, most - 1));
  return all.filter((r) => shown.has(r));
}
