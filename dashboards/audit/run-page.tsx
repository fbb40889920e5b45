import { useEffect, useState } from 'preact/hooks';
import type { RunPage, SealView } from '../../src/core/audit/page-schema.ts';
import type { Span } from '../shared/plot-data.ts';
import { Again } from './again.tsx';
import { bridge } from './client.ts';
import { Comments } from './comments.tsx';
import { Files } from './files.tsx';
import { Findings, focusOf } from './findings.tsx';
import { me, takeEarly, tried } from './model.ts';
import { hashOf, place, stay } from './place.ts';
import { Plan, Tests } from './plan.tsx';
import { drawnRun, RunChart, viewOf, within } from './run-chart.tsx';
import { rigText } from './runs.tsx';
import { GoTo, TimeLine } from './time-line.tsx';
import { Visits } from './visits.tsx';
import { length, moment, plural, sealWords } from './words.ts';

/** Go and look at a span of the run, with room on either side, and mark what is meant. */
export function lookAtSpan(page: RunPage, span: Span, at: string): void {
  const widthS = Math.max(30, span.toS - span.fromS);
  const view = within(page, { fromS: span.fromS - 0.3 * widthS, toS: span.toS + 0.3 * widthS });
  stay({ fromS: view.fromS, toS: view.toS, at });
  document.querySelector('.chart')?.scrollIntoView({ block: 'nearest' });
}

/** One run on one page. */
export function RunPageView({ runId }: { runId: string }) {
  const [page, setPage] = useState<RunPage | null>(null);
  const [seal, setSeal] = useState<SealView | null>(null);
  const [tries, setTries] = useState(0);
  // The chart stands first; what is below it comes when it does.
  const isDrawn = drawnRun.value === runId;
  useEffect(() => {
    void tried(() => takeEarly(runId) ?? bridge.run(runId)).then((found) => found && setPage(found));
  }, [runId, tries]);
  useEffect(() => {
    // Looking at all sealed files takes the bridge a while: after the chart.
    if (!isDrawn) return;
    void tried(() => bridge.seal(runId)).then((found) => {
      if (!found) return;
      setSeal(found);
      // Found otherwise than at the last look: the run is looked at anew, and shown as it is found then.
      if (found.state !== page?.run.seal) setTries((n) => n + 1);
    });
  }, [runId, isDrawn]);
  useEffect(() => {
    if (page === null || !page.run.stale) return undefined;
    // A run under way is stale all the time.
    const timer = setTimeout(() => setTries((n) => n + 1), page.looked === null || !page.run.underWay ? 700 : 10_000);
    return () => clearTimeout(timer);
  }, [page]);
  if (page === null) return <main class="empty">The run is being fetched.</main>;
  const focus = focusOf(page, place.value.at);
  const look = (span: Span, at: string): void => lookAtSpan(page, span, at);
  return (
    <main class="run">
      <Head page={page} seal={seal} />
      <div class="run-grid">
        <div class="run-left">
          <TimeLine page={page} look={look} />
          <RunChart page={page} focus={focus} tools={<GoTo page={page} look={look} />} />
        </div>
        <Findings page={page} look={look} changed={setPage} />
      </div>
      {page.looked !== null && isDrawn && (
        <>
          <Visits page={page} looked={page.looked} look={look} />
          <div class="two">
            <Plan looked={page.looked} />
            <Tests looked={page.looked} />
          </div>
          <Again page={page} look={look} />
          <div class="two">
            <Comments page={page} changed={setPage} />
            <Files page={page} view={viewOf(page)} />
          </div>
          <Facts page={page} />
        </>
      )}
    </main>
  );
}

function Head({ page, seal }: { page: RunPage; seal: SealView | null }) {
  const { run, signedOff } = page;
  return (
    <header class="run-head">
      {me.value?.onlyRun === null && (
        <a class="back" href={hashOf({ page: 'runs' })}>
          Runs
        </a>
      )}
      <h2>{run.site || run.title || run.runId}</h2>
      <p class="run-facts">
        <span>{moment(run.startedAt)} UTC</span>
        <span>{length(page.toS)}</span>
        <span>{run.engineer || 'engineer not named'}</span>
        <span>{rigText(run.rig)}</span>
        <span class="quiet">{run.runId}</span>
        {run.simulated && <span class="warn">Simulated water</span>}
        {run.underWay && <span class="warn">Under way</span>}
      </p>
      <p class="run-facts">
        <span>
          <b>{run.openFindings === null ? 'Being looked at' : plural(run.openFindings, 'open finding')}</b>
        </span>
        <SealWords seal={seal} state={run.seal} />
        <span>
          {signedOff === null ? 'Not signed off' : `Signed off by ${signedOff.by}, ${moment(signedOff.at)} UTC`}
        </span>
      </p>
      {seal !== null && seal.faults.length > 0 && (
        <ul class="faults" role="alert">
          {seal.faults.slice(0, 6).map((fault) => (
            <li key={fault}>{fault}</li>
          ))}
        </ul>
      )}
    </header>
  );
}

function SealWords({ seal, state }: { seal: SealView | null; state: RunPage['run']['seal'] }) {
  if (seal === null) return <span>{sealWords[state]}</span>;
  if (seal.state === 'unsigned') return <span>Unsigned: nobody sealed this record</span>;
  if (seal.state === 'missing') return <span class="seal is-missing">Its seal is not here</span>;
  if (seal.fingerprint === '') return <span class="seal is-changed">Changed after it was kept; it bears no seal</span>;
  const key =
    seal.keyName === null ? `a key that is not known here: ${seal.fingerprint}` : `the key of ${seal.keyName}`;
  return (
    <span class={`seal is-${seal.state}`}>
      {seal.state === 'intact' ? `Seal intact, by ${key}` : `Sealed by ${key}, and changed since`}
    </span>
  );
}

function Facts({ page }: { page: RunPage }) {
  return (
    <details class="facts">
      <summary>Everything that the record says, and what it does not</summary>
      <dl>
        {page.looked?.facts.map(([label, text]) => (
          <div key={label}>
            <dt>{label}</dt>
            <dd class={text.startsWith('not recorded') ? 'quiet' : ''}>{text}</dd>
          </div>
        ))}
      </dl>
      <h3>Events</h3>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: it is scrolled by keys */}
      <div class="scroll events" tabIndex={0} role="region" aria-label="Events">
        <table>
          <thead>
            <tr>
              <th scope="col" class="end">
                At
              </th>
              <th scope="col">Event</th>
              <th scope="col">Emitter</th>
              <th scope="col">Words</th>
              <th scope="col">By</th>
              <th scope="col">Wall clock (UTC)</th>
            </tr>
          </thead>
          <tbody>
            {page.looked?.marks.map((m, i) => (
              // biome-ignore lint/suspicious/noArrayIndexKey: the record's own order never changes
              <tr key={i}>
                <td class="end">{length(m.timeS)}</td>
                <td>{m.event}</td>
                <td>{m.emitter}</td>
                <td>{m.note}</td>
                <td>{m.who}</td>
                <td>{m.wallAt === '' ? '' : m.wallAt.slice(0, 19).replace('T', ' ')}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </details>
  );
}
