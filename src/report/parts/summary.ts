import type { Section } from '../block.ts';
import type { Facts, NotMeasured } from '../facts.ts';
import { count, figure } from '../fact.ts';
import type { Gathered } from '../gather.ts';
import { type EmitterRow, emitterRows, resultWords } from './emitter-rows.ts';

export interface About {
  readonly facts: Facts;
  readonly exceptions: readonly string[];
  readonly notMeasured: readonly NotMeasured[];
  readonly headline: string;
}

/** Of a long list the first few; the rest is told by its number, and listed whole further on. */
function first(items: readonly string[], most: number): string[] {
  if (items.length <= most) return [...items];
  return [...items.slice(0, most - 1), `and ${items.length - most + 1} more, in the parts below`];
}

/** The first page: who, where, when, what was done, what came of it, exceptions first, and what was not measured. */
export function summarySection(g: Gathered, { facts, exceptions, notMeasured, headline }: About): Section {
  const { site, client, engineer, started, ended, system, kit, cleaner, inhibitor, nextCheck, seal } = facts;
  const rows = fewRows(emitterRows(g)).map((r) => {
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
        rows: [site, client, engineer, started, ended, system, kit, cleaner, inhibitor, nextCheck, seal],
      },
      {
        kind: 'list',
        title: 'Exceptions',
        items: exceptions.length > 0 ? first(exceptions, 7) : ['None found in what was recorded.'],
      },
      {
        kind: 'table',
        caption: 'Result of each emitter',
        columns: [
          { title: 'Emitter', share: 0.4 },
          { title: 'Passes', share: 0.16 },
          { title: 'Highest turbidity', share: 0.22 },
          { title: 'Result', share: 0.22 },
        ],
        rows: left === 0 ? rows : [...rows, [`and ${left} more, under "Emitter by emitter"`, '', '', '']],
        none: 'No emitter is known.',
      },
      {
        kind: 'list',
        title: 'Not measured or not recorded; the reasons stand under "Decisions, cautions, notes, gaps"',
        items: [notMeasured.length === 0 ? 'Nothing.' : `${notMeasured.map((n) => n.label).join('; ')}.`],
      },
    ],
  };
}

/** So many that the summary stays on one page: those that are not done before the others, in their own order. */
function fewRows(all: readonly EmitterRow[]): readonly EmitterRow[] {
  const most = 13;
  if (all.length <= most) return all;
  const open = all.filter((r) => r.result !== 'done');
  const done = all.filter((r) => r.result === 'done');
  const shown = new Set([...open, ...done].slice(0, most - 1));
  return all.filter((r) => shown.has(r));
}
