import type { StagePage } from '../../../src/core/job/view-schema.ts';
import { post, tell } from '../model.ts';
import { FormView } from './form.tsx';

async function take(file: File): Promise<void> {
  if (file.size > 50_000) return tell(`${file.name} is too large for a table of limits.`);
  post({ event: 'limit-table', label: `Limits from ${file.name}`, note: file.name, data: { csv: await file.text() } });
}

/** The limits that the water is held against: changed one by one, taken from a table, kept as one for the next run. */
export function LimitsView({ page }: { page: StagePage }) {
  const { limits } = page;
  const form = page.forms.find((f) => f.event === 'limit');
  if (limits === null) return null;
  return (
    <details class="limits">
      <summary>Limits: {limits.name}. Change them</summary>
      <div class="survey-tools">
        <label class="choice">
          Take limits from a table
          <input
            type="file"
            accept=".csv,text/csv"
            class="for-readers"
            onChange={(e) => {
              const file = e.currentTarget.files?.[0];
              if (file) void take(file);
            }}
          />
        </label>
        <a class="choice" download="limits.csv" href={`data:text/csv;charset=utf-8,${encodeURIComponent(limits.csv)}`}>
          Keep as a table
        </a>
      </div>
      {form !== undefined && <FormView form={form} />}
    </details>
  );
}
