import type { Section } from '../block.ts';
import type { Facts } from '../facts.ts';
import { figure } from '../fact.ts';
import { dataText, eventsNamed, type Gathered } from '../gather.ts';

export function surveySection(g: Gathered, facts: Facts): Section {
  const { context } = g.input.head;
  const { system, emitters, loopLitres, surveyLitres, mains, symptoms, filledLitres } = facts;
  const rows = context.emitters.map((e) => [
    e.name || e.id,
    e.id,
    figure(e.volume_l, 'l'),
    e.path_l === undefined ? `${figure(context.return_volume_l, 'l')} (mean of all)` : figure(e.path_l, 'l'),
  ]);
  const surveyed = eventsNamed(g, 'survey-row').map(({ event }) => [
    dataText(event, 'kind') || '-',
    dataText(event, 'name') || dataText(event, 'id') || '-',
    Object.entries(event.data ?? {})
      .filter(([key, value]) => !['kind', 'id', 'name'].includes(key) && value !== '' && value !== null)
      .map(([key, value]) => `${key} ${String(value)}`)
      .join(', '),
  ]);
  return {
    id: 'survey',
    title: 'Survey',
    ownPage: true,
    blocks: [
      { kind: 'facts', rows: [system, emitters, loopLitres, surveyLitres, filledLitres, mains, symptoms] },
      {
        kind: 'table',
        caption: 'Emitters and their litres, all estimates',
        columns: [
          { title: 'Emitter', share: 0.4 },
          { title: 'Id', share: 0.15 },
          { title: 'Water content, full', share: 0.2, end: true },
          { title: 'Pipe to the sensor', share: 0.25, end: true },
        ],
        rows,
        none: 'No emitter was listed.',
      },
      ...(surveyed.length === 0
        ? []
        : [
            {
              kind: 'table' as const,
              caption: 'Parts surveyed in this run',
              columns: [
                { title: 'Kind', share: 0.15 },
                { title: 'Part', share: 0.3 },
                { title: 'What was noted', share: 0.55 },
              ],
              rows: surveyed,
              none: '',
            },
          ]),
    ],
  };
}
