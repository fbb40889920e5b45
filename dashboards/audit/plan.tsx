import type { LookedAtRun } from '../../src/core/audit/page-schema.ts';

/** What was planned beside what was done. */
export function Plan({ looked }: { looked: LookedAtRun }) {
  return (
    <section class="plan" aria-label="Plan and work">
      <h3>Planned and done</h3>
      <div class="scroll">
        <table>
          <thead>
            <tr>
              <th scope="col">What</th>
              <th scope="col">Planned</th>
              <th scope="col">Done</th>
              <th scope="col">Words</th>
            </tr>
          </thead>
          <tbody>
            {looked.plan.map((row) => (
              <tr key={row.what} class={row.differs ? 'differs' : ''}>
                <th scope="row">{row.what}</th>
                <td>{row.planned}</td>
                <td>{row.done}</td>
                <td>{row.note}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </section>
  );
}

const verdicts: Readonly<Record<string, string>> = {
  inside: 'Inside',
  outside: 'Outside',
  undecided: 'At the limit',
  'no-limit': 'No limit',
  'no-mains': 'No mains test',
  'not-measured': 'Not measured',
};

/** Before, after and limit. */
export function Tests({ looked }: { looked: LookedAtRun }) {
  return (
    <section class="tests" aria-label="Water tests">
      <h3>Before, after, limit</h3>
      {looked.tests.length === 0 ? (
        <p>No water was tested.</p>
      ) : (
        <div class="scroll">
          <table>
            <thead>
              <tr>
                <th scope="col">Test</th>
                <th scope="col" class="end">
                  Mains
                </th>
                <th scope="col" class="end">
                  Before
                </th>
                <th scope="col" class="end">
                  After
                </th>
                <th scope="col">Limit</th>
                <th scope="col">Result</th>
              </tr>
            </thead>
            <tbody>
              {looked.tests.map((t) => (
                <tr key={t.title} class={t.verdict === 'outside' ? 'differs' : ''}>
                  <th scope="row">{t.title}</th>
                  <td class="end">{t.mains}</td>
                  <td class="end">{t.before}</td>
                  <td class="end">{t.after}</td>
                  <td>
                    {t.limit}
                    {t.origin && <small>{t.origin}</small>}
                  </td>
                  <td>{verdicts[t.verdict] ?? t.verdict}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
    </section>
  );
}
