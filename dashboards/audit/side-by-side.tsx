import { useEffect, useState } from 'preact/hooks';
import type { SideBySide } from '../../src/core/audit/across-schema.ts';
import { severityNames } from '../../src/core/audit/page-schema.ts';
import { bridge } from './client.ts';
import { tried } from './model.ts';
import { hashOf, place } from './place.ts';
import { rigText } from './runs.tsx';
import { length, moment, severityWords, short, stateWords } from './words.ts';

/** Two or more runs, column beside column: every figure that any of them has, then the emitters. */
export function SideBySidePage() {
  const { runIds } = place.value;
  const [found, setFound] = useState<SideBySide | null>(null);
  useEffect(() => {
    void tried(() => bridge.sideBySide(runIds)).then((answer) => answer && setFound(answer));
  }, [runIds.join()]);
  if (found === null) return <main class="empty">The runs are being fetched.</main>;
  const { runs, figures } = found;
  if (runs.length === 0) return <main class="empty">None of these runs was looked at yet.</main>;
  const names = [...new Set(runs.flatMap((r) => r.visits.map((v) => v.name)))];
  return (
    <main class="side-by-side">
      <a class="back" href={hashOf({ page: 'runs' })}>
        Runs
      </a>
      <h2>Side by side</h2>
      <div class="scroll">
        <table>
          <thead>
            <tr>
              <th scope="col">
                <span class="for-readers">Figure</span>
              </th>
              {runs.map((r) => (
                <th scope="col" class="end" key={r.runId}>
                  <a href={hashOf({ runId: r.runId })}>{r.title || r.runId}</a>
                  <small>{moment(r.startedAt)} UTC</small>
                  <small>{r.engineer || 'engineer not named'}</small>
                  <small>{rigText(r.rig)}</small>
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {severityNames.map((s) => (
              <tr key={s}>
                <th scope="row">Findings, {severityWords[s].toLowerCase()}</th>
                {runs.map((r) => (
                  <td class="end" key={r.runId}>
                    {r.counts[s]}
                  </td>
                ))}
              </tr>
            ))}
            {figures.map((f) => (
              <tr key={f.id}>
                <th scope="row">
                  {f.title}
                  {f.unit === '' ? '' : `, ${f.unit}`}
                </th>
                {runs.map((r) => {
                  const value = r.figures[f.id] ?? null;
                  return (
                    <td class="end" key={r.runId}>
                      {value === null ? '–' : short(value)}
                    </td>
                  );
                })}
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      <h3>Emitters: time to clear, passes, how they were left</h3>
      <div class="scroll">
        <table>
          <tbody>
            {names.map((name) => (
              <tr key={name}>
                <th scope="row">{name}</th>
                {runs.map((r) => (
                  <td class="end" key={r.runId}>
                    {r.visits
                      .filter((v) => v.name === name)
                      .map((v) => (
                        <span class="one-visit" key={v.visit}>
                          {v.clearAfterS === null ? '–' : length(v.clearAfterS)}, {v.passes},{' '}
                          {v.done ? 'done' : (stateWords[v.state] ?? v.state).toLowerCase()}
                        </span>
                      ))}
                  </td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </main>
  );
}
