import { useState } from 'preact/hooks';
import type { Again as AgainView, RunPage } from '../../src/core/audit/page-schema.ts';
import { defaultLineSettings } from '../../src/core/line/settings.ts';
import { fixedText } from '../shared/format.ts';
import type { Span } from '../shared/plot-data.ts';
import { bridge } from './client.ts';
import { typed } from './form.ts';
import { sentence } from './model.ts';
import { length, stateWords } from './words.ts';

/** The settings that an auditor asks about; the others can be named by hand. */
const offered: readonly (readonly [name: keyof typeof defaultLineSettings, words: string, unit: string])[] = [
  ['clearNtu', 'Clear under', 'NTU over the background'],
  ['clearShare', 'or under this share of the peak', ''],
  ['restShare', 'Share that may still be to come', ''],
  ['pathSds', 'Litres asked for beyond the path', 'standard deviations'],
  ['noPassWaitS', 'Wait without a pass', 's'],
  ['minFlowLpm', 'Least flow', 'l/min'],
];

/** The same run judged again, with other settings or with what came later, beside the original verdicts. */
export function Again({ page, look }: { page: RunPage; look: (span: Span, at: string) => void }) {
  const [found, setFound] = useState<AgainView | null>(null);
  const [wrong, setWrong] = useState<string | null>(null);
  const [busy, setBusy] = useState(false);
  const judge = (form: HTMLFormElement): void => {
    const settings: Record<string, number> = {};
    for (const [name] of offered) {
      const value = Number(typed(form, name).replace(',', '.'));
      if (Number.isFinite(value) && value !== defaultLineSettings[name]) settings[name] = value;
    }
    setBusy(true);
    bridge
      .again(page.run.runId, settings, typed(form, 'hindsight') !== '')
      .then(
        (answer) => {
          setFound(answer);
          setWrong(null);
        },
        (error: unknown) => setWrong(sentence(error)),
      )
      .finally(() => setBusy(false));
  };
  return (
    <section class="again" aria-label="Judged again">
      <h3>Judge it again</h3>
      <p class="quiet">The record stays as it is. The very code that ran beside the rig goes over it once more.</p>
      <form
        class="line-form"
        onSubmit={(event) => {
          event.preventDefault();
          judge(event.currentTarget);
        }}
      >
        {offered.map(([name, words, unit]) => (
          <label key={name}>
            {words}
            {unit === '' ? '' : `, ${unit}`}
            <input name={name} inputMode="decimal" defaultValue={String(defaultLineSettings[name])} required />
          </label>
        ))}
        <label class="check">
          <input type="checkbox" name="hindsight" defaultChecked /> With what came later
        </label>
        <button type="submit" class="go" disabled={busy}>
          {busy ? 'Judging' : 'Judge again'}
        </button>
      </form>
      {wrong !== null && <p class="warn">{wrong}</p>}
      {found !== null && <Compared found={found} look={look} />}
    </section>
  );
}

function Compared({ found, look }: { found: AgainView; look: (span: Span, at: string) => void }) {
  const differing = found.visits.filter((v) => v.differs).length;
  const clearWords = (v: AgainView['visits'][number]['again'], fromS: number): string =>
    v === null
      ? 'no such visit'
      : `${stateWords[v.state] ?? v.state}${v.clearAtS === null ? '' : ` after ${length(v.clearAtS - fromS)}`}`;
  return (
    <div role="status">
      <p>
        <b>
          {differing === 0
            ? 'Every visit is judged as it was.'
            : `${differing} of ${found.visits.length} visits are judged otherwise.`}
        </b>{' '}
        <span class="quiet">Took {fixedText(found.tookMs / 1000, 1)} s.</span>
      </p>
      <div class="scroll">
        <table>
          <thead>
            <tr>
              <th scope="col">Emitter</th>
              <th scope="col">As it was said</th>
              <th scope="col">Judged again</th>
              <th scope="col" class="end">
                Clear later by
              </th>
              <th scope="col">Why, judged again</th>
            </tr>
          </thead>
          <tbody>
            {found.visits.map((v) => (
              <tr key={`${v.emitter} ${v.visit}`} class={v.differs ? 'differs' : ''}>
                <th scope="row">
                  <button type="button" class="plain" onClick={() => look(v, `visit ${v.emitter}/${v.visit}`)}>
                    {v.name}
                  </button>
                  {v.visit > 1 && <small>visit {v.visit}</small>}
                </th>
                <td>{clearWords(v.original, v.fromS)}</td>
                <td>{clearWords(v.again, v.fromS)}</td>
                <td class="end">{v.laterS === null ? '–' : `${fixedText(v.laterS, 0)} s`}</td>
                <td>{v.again?.reason}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      {found.rinse !== null && (
        <p class={found.rinse.differs ? 'differs' : ''}>
          Rinse, as it was said: {found.rinse.original} Judged again: {found.rinse.again}
        </p>
      )}
    </div>
  );
}
