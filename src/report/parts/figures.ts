import { between } from '../../core/quantity/in-time.ts';
import { channels } from '../../core/quantity/channels.ts';
import type { SampleKey } from '../../core/quantity/channels.ts';
import { withoutLone } from '../../core/quantity/lone.ts';
import type { Sample } from '../../core/quantity/sample.ts';
import type { Point } from '../chart/decimate.ts';
import type { Block, Column, Section } from '../block.ts';
import { type Slice, slices } from '../chart/data-table.ts';
import { figure, moment } from '../fact.ts';
import type { Gathered } from '../gather.ts';
import { channelUnit, inChannelUnit } from '../in-units.ts';
import { emitterRows } from './emitter-rows.ts';

const parts = 12;
const visitParts = 6;

/** The charts once more as figures, for whoever cannot see them. */
export function figuresSection(g: Gathered): Section {
  const blocks = [wholeRun(g), ...visits(g), ...rinse(g)].filter((b) => b !== null);
  return {
    id: 'figures',
    title: 'The charts in figures',
    ownPage: true,
    blocks: [
      {
        kind: 'text',
        text: 'What the charts show, cut into equal stretches of time: lowest to highest value of each stretch, lone wild readings of flow, pressure, temperature and conductivity aside. The recording holds every reading.',
      },
      ...blocks,
    ],
  };
}

const span = ({ low, high }: Slice): string =>
  low === null || high === null ? 'none' : low === high ? figure(low, '') : `${figure(low, '')} to ${figure(high, '')}`;

const shownChannels = ['turbidityNtu', 'flowLpm', 'pressureBar', 'returnC', 'conductivityUsCm'] as const;

/** Readings that a figure may be told by: of all but turbidity, whose peaks are the analysis's own, lone wild ones aside. */
function told(g: Gathered, key: SampleKey, samples: readonly Sample[]): Point[] {
  const values = samples.map((s) => inChannelUnit(g, key, s[key]));
  if (key === 'turbidityNtu') return samples.map((s, i) => [s.timeS, values[i] ?? null]);
  const borne = withoutLone(values);
  return samples.map((s, i) => {
    const value = borne[i] ?? Number.NaN;
    return [s.timeS, Number.isNaN(value) ? null : value];
  });
}

/** One row a stretch, one column a channel. */
function overTime(g: Gathered, caption: string, keys: readonly SampleKey[], fromS: number, toS: number): Block | null {
  const samples = between(g.input.samples, fromS, toS);
  const there = keys.filter((key) => samples.some((s) => s[key] !== null));
  if (there.length === 0) return null;
  const cut = there.map((key) => slices(told(g, key, samples), fromS, Math.max(toS, fromS + 1), parts));
  const share = 0.82 / there.length;
  const columns: Column[] = [
    { title: 'From', share: 0.18, end: true },
    ...there.map((key) => {
      const title = channels.find((c) => c.key === key)?.title ?? key;
      return { title: `${title}, ${channelUnit(g, key)}`, share, end: true };
    }),
  ];
  const first = cut[0] ?? [];
  const rows = first.map((slice, i) => [moment(slice.fromS), ...cut.map((c) => (c[i] ? span(c[i]) : 'none'))]);
  return { kind: 'table', caption, columns, rows, none: '' };
}

function wholeRun(g: Gathered): Block | null {
  return overTime(g, 'The whole run', shownChannels, 0, g.endS);
}

function visits(g: Gathered): Block[] {
  const rows = emitterRows(g).flatMap((row) =>
    row.visits.map((v) => {
      const { fromS } = v.visit;
      const points = between(g.input.samples, fromS, v.toS).map((s) => [s.timeS, s.turbidityNtu] as const);
      const name = row.visits.length > 1 ? `${row.name}, visit ${v.visit.visit}` : row.name;
      return [name, ...slices(points, fromS, Math.max(v.toS, fromS + 1), visitParts).map(span)];
    }),
  );
  if (rows.length === 0) return [];
  const share = 0.76 / visitParts;
  const columns: Column[] = [
    { title: 'Visit', share: 0.24 },
    ...Array.from({ length: visitParts }, (_, i) => ({ title: `part ${i + 1} of ${visitParts}`, share, end: true })),
  ];
  return [{ kind: 'table', caption: 'Turbidity of each visit, NTU', columns, rows, none: '' }];
}

function rinse(g: Gathered): Block[] {
  const stays = g.stays.filter((s) => s.stage === 'rinse');
  const [first, last] = [stays[0], stays.at(-1)];
  if (!first || !last) return [];
  const block = overTime(g, 'The rinse', ['turbidityNtu', 'conductivityUsCm'], first.fromS, last.toS);
  return block ? [block] : [];
}
