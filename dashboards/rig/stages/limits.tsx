import type { StagePage } from '../../../src/core/job/view-schema.ts';
import { t, told } from '../../shared/words/language.ts';
import { post } from '../model.ts';
import { FormView } from './form.tsx';
import { TableFile } from './table-file.tsx';

/** The limits that the water is held against: changed one by one, taken from a table, kept as one for the next run. */
export function LimitsView({ page }: { page: StagePage }) {
  const { limits } = page;
  const form = page.forms.find((f) => f.event === 'limit');
  if (limits === null) return null;
  return (
    <details class="limits">
      <summary>{t('Limits: {name}. Change them', { name: told(limits.name) })}</summary>
      <div class="survey-tools">
        <TableFile
          label={t('Take limits from a table')}
          most={50_000}
          take={(name, csv) =>
            post({ event: 'limit-table', label: t('Limits from {file}', { file: name }), note: name, data: { csv } })
          }
          keptAs="limits.csv"
          csv={limits.csv}
        />
      </div>
      {form !== undefined && <FormView form={form} />}
    </details>
  );
}
