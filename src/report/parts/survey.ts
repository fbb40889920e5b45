import type { Section } from '../block.ts';
import type { Facts } from '../facts.ts';
import { figure } from '../fact.ts';
import type { Gathered } from '../gather.ts';
import { quantity } from '../in-units.ts';

export function surveySection(g: Gathered, facts: Facts): Section {
  const { context } = g.driven;
  const { system, emitters, loopLitres, surveyLitres, mains, symptoms, filledLitres, volume } = facts;
  const rows = context.emitters.map((e) => [
    e.name || e.id,
    e.id,
    quantity(g, e.volume_l, 'volume'),
    e.path_l === undefined
      ? `${quantity(g, context.return_volume_l, 'volume')} (mean of all)`
      : quantity(g, e.path_l, 'volume'),
  ]);
  const { survey, surveyTold } = g.driven.job;
  const surveyed = [
    ...survey.emitters.map((e) => [e.name, [e.room, e.type, e.material].filter((w) => w !== '').join(', ')]),
    ...survey.runs.map((r) => [
      `Pipe ${r.id}`,
      `${r.tube ?? `bore ${r.innerMm ?? '?'} mm`}, ${figure(r.lengthM, 'm')}, ${r.ways === 2 ? 'flow and return' : 'one way'}`,
    ]),
    ...survey.others.map((o) => [o.name, quantity(g, o.litres, 'volume')]),
  ];
  return {
    id: 'survey',
    title: 'Survey',
    ownPage: true,
    blocks: [
      { kind: 'facts', rows: [system, emitters, loopLitres, surveyLitres, volume, filledLitres, mains, symptoms] },
      {
        kind: 'table',
        caption: 'Emitters and the water in them, all estimates',
        columns: [
          { title: 'Emitter', share: 0.4 },
          { title: 'Id', share: 0.15 },
          { title: 'Water content, full', share: 0.2, end: true },
          { title: 'Pipe to the sensor', share: 0.25, end: true },
        ],
        rows,
        none: 'No emitter was listed.',
      },
      ...(!surveyTold
        ? []
        : [
            {
              kind: 'table' as const,
              caption: 'Parts surveyed in this run',
              columns: [
                { title: 'Part', share: 0.4 },
                { title: 'What was noted', share: 0.6 },
              ],
              rows: surveyed,
              none: '',
            },
          ]),
    ],
  };
}
