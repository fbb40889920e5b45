import { useState } from 'preact/hooks';
import { emitterTypes } from '../../../src/core/circuit/emitter.ts';
import { tubes } from '../../../src/core/circuit/tube.ts';
import type { StageField, StageForm, StagePage } from '../../../src/core/job/view-schema.ts';
import { decimalMark } from '../../shared/format.ts';
import { quantityText } from '../../shared/units.ts';
import { type Phrase, t, told } from '../../shared/words/language.ts';
import { HoldButton } from '../../shared/hold-button.tsx';
import { post } from '../model.ts';
import { FormView } from './form.tsx';
import { TableFile } from './table-file.tsx';

type Survey = NonNullable<StagePage['survey']>;
type Part = Survey['emitters'][number];
type Kind = 'emitter' | 'run' | 'other';

const number = (name: string, label: Phrase, unit: string, least: number, most: number): StageField => ({
  name,
  label: t(label),
  kind: 'number',
  unit,
  least,
  most,
  decimals: 2,
  choices: [],
  optional: true,
});
const text = (name: string, label: Phrase, optional = true): StageField => ({
  name,
  label: t(label),
  kind: 'text',
  choices: [],
  optional,
});
const choice = (name: string, label: Phrase, choices: readonly string[], start = choices[0] ?? ''): StageField => ({
  name,
  label: t(label),
  kind: 'choice',
  choices: [...choices],
  start,
  optional: choices.includes(''),
});

const fieldsOf: Readonly<Record<Kind, (survey: Survey) => StageField[]>> = {
  emitter: (survey) => [
    text('name', 'Name', false),
    choice('type', 'Kind', emitterTypes),
    choice('material', 'Material', ['steel', 'cast-iron', 'copper', 'aluminium', 'stainless', 'plastic']),
    { ...number('litres', 'Water, by its plate', 'l', 0.05, 500), quantity: 'volume' },
    number('length_mm', 'or length', 'mm', 200, 6000),
    number('height_mm', 'and height', 'mm', 100, 3000),
    number('sections', 'or sections', '', 1, 80),
    number('inner_mm', 'Loop: inner bore', 'mm', 3, 50),
    number('length_m', 'Loop: tube', 'm', 1, 300),
    number('floor', 'Floor, ground is 0', '', -5, 60),
    ...(survey.runs.length > 0 ? [choice('run', 'Joins run', ['', ...survey.runs.map((r) => String(r['id']))])] : []),
  ],
  run: (survey) => [
    choice(
      'tube',
      'Tube',
      tubes.map((tube) => tube.id),
      'copper-15x0.7',
    ),
    { ...number('length_m', 'Length, each way', 'm', 0.1, 1000), optional: false },
    choice('ways', 'Flow and return', ['2', '1']),
    ...(survey.runs.length > 0
      ? [choice('run', 'Runs on into', ['', ...survey.runs.map((r) => String(r['id']))])]
      : []),
  ],
  other: () => [
    text('name', 'What', false),
    { ...number('litres', 'Holds', 'l', 0.1, 100000), quantity: 'volume', optional: false },
    choice('kind', 'It is', ['other', 'rig']),
  ],
};

const titles: Readonly<Record<Kind, Phrase>> = {
  emitter: 'Emitter',
  run: 'Pipe run',
  other: 'Other water',
};

/** Names in a part of the survey, as the table names them. */
const columns: Readonly<Record<string, string>> = {
  lengthMm: 'length_mm',
  heightMm: 'height_mm',
  innerMm: 'inner_mm',
  tubeM: 'length_m',
  lengthM: 'length_m',
  towards: 'run',
};

function freeId(survey: Survey, kind: Kind): string {
  const taken = new Set([...survey.emitters, ...survey.runs, ...survey.others].map((p) => p['id']));
  for (let n = 1; ; n++) if (!taken.has(`${kind[0]}${n}`)) return `${kind[0]}${n}`;
}

function formOf(survey: Survey, kind: Kind, part: Part | null): StageForm {
  const last = part && Object.fromEntries(Object.entries(part).map(([name, v]) => [columns[name] ?? name, v]));
  const id = String(part?.['id'] ?? freeId(survey, kind));
  return {
    id: `${kind}-${id}`,
    title: part ? `${t(titles[kind])}: ${String(part['name'] ?? id)}` : t('Add: {what}', { what: t(titles[kind]) }),
    event: 'survey-row',
    fixed: { ...(kind === 'other' ? {} : { kind }), id },
    fields: fieldsOf[kind](survey),
    submit: part ? t('Change') : t('Add'),
    last: last ? Object.fromEntries(Object.entries(last).filter(([, v]) => v !== '')) : null,
  };
}

function sizeOf(part: Part): string {
  if (typeof part['litres'] === 'number') return quantityText('volume', part['litres']);
  if (part['sections'] !== undefined) return t('{count} sections', { count: String(part['sections']) });
  if (part['tubeM'] !== undefined) return `${decimalMark(String(part['tubeM']))} m`;
  if (part['lengthM'] !== undefined) return `${decimalMark(String(part['lengthM']))} m`;
  return `${part['lengthMm'] ?? '?'} \u00d7 ${part['heightMm'] ?? '?'} mm`;
}

function Row(props: { part: Part; edit: () => void; up: (() => void) | null }) {
  const { part, edit, up } = props;
  const name = String(part['name'] ?? part['id']);
  const kind = [part['type'], part['tube'], part['material']]
    .flatMap((x) => (x === undefined ? [] : [told(String(x))]))
    .join(', ');
  return (
    <li>
      <HoldButton className="part" hold={false} label={`${name} ${kind} ${sizeOf(part)}: ${t('Change')}`} onAct={edit}>
        <b>{name}</b> <span>{kind}</span> <span>{sizeOf(part)}</span>
      </HoldButton>
      {up !== null && (
        <HoldButton className="tool" hold={false} label={t('{name} earlier', { name })} onAct={up}>
          {'\u2191'}
        </HoldButton>
      )}
      <HoldButton
        className="tool"
        hold
        label={`${t('Remove {name}', { name })}, ${t('press and hold')}`}
        onAct={() =>
          post({ event: 'survey-remove', label: t('Remove {name}', { name }), data: { id: String(part['id']) } })
        }
      >
        {'\u00d7'}
      </HoldButton>
    </li>
  );
}

function order(ids: readonly string[]): void {
  post({ event: 'survey-order', label: t('Order of visits'), note: ids.join(' ') });
}

/** The list of emitters, pipes and other water: typed, taken from a table, kept as one for the next visit. */
export function SurveyView({ survey }: { survey: Survey }) {
  const [open, setOpen] = useState<{ kind: Kind; id: string | null } | null>(null);
  const ids = survey.emitters.map((e) => String(e['id']));
  const lists: readonly [Kind, readonly Part[]][] = [
    ['emitter', survey.emitters],
    ['run', survey.runs],
    ['other', survey.others],
  ];
  const isProposed = survey.order.length === 0 || survey.order.join(' ') === ids.join(' ');
  return (
    <section class="survey" aria-label={t('Survey')}>
      <div class="survey-tools">
        {(['sealed', 'open-vented'] as const).map((system) => (
          <HoldButton
            key={system}
            className={`choice${survey.system === system ? ' is-chosen' : ''}`}
            hold={false}
            label={`${t(system)}${survey.system === system ? `, ${t('chosen')}` : ''}`}
            onAct={() => post({ event: 'survey-row', label: system, data: { kind: 'system', type: system, id: '' } })}
          >
            {t(system)}
          </HoldButton>
        ))}
        <TableFile
          label={t('Take a table')}
          most={200_000}
          take={(name, csv) =>
            post({ event: 'survey-table', label: t('Survey from {file}', { file: name }), note: name, data: { csv } })
          }
          keptAs="survey.csv"
          csv={survey.csv}
        />
        {!isProposed && (
          <HoldButton
            className="choice"
            hold={false}
            label={t('Use the proposed order')}
            onAct={() => order(survey.order)}
          >
            {t('Use the proposed order')}
          </HoldButton>
        )}
      </div>
      {lists.map(([kind, parts]) => (
        <div key={kind}>
          <h3>
            {kind === 'emitter'
              ? t('Emitters, in order of visits')
              : kind === 'run'
                ? t('Pipe runs')
                : t('Other water')}
            <HoldButton
              className="tool"
              hold={false}
              label={t('Add: {what}', { what: t(titles[kind]) })}
              onAct={() => setOpen({ kind, id: null })}
            >
              {t('Add')}
            </HoldButton>
          </h3>
          <ol class="parts">
            {parts.map((part, i) => {
              const id = String(part['id']);
              const earlier = [...ids.slice(0, i - 1), id, ids[i - 1] ?? '', ...ids.slice(i + 1)];
              return (
                <Row
                  key={id}
                  part={part}
                  edit={() => setOpen({ kind, id })}
                  up={kind === 'emitter' && i > 0 ? () => order(earlier) : null}
                />
              );
            })}
          </ol>
          {open?.kind === kind && (
            <FormView
              key={`${kind} ${open.id ?? parts.length}`}
              form={formOf(survey, kind, parts.find((p) => p['id'] === open.id) ?? null)}
            />
          )}
        </div>
      ))}
    </section>
  );
}
