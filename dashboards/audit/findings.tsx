import { useState } from 'preact/hooks';
import { type FindingView, type RunPage, severityNames } from '../../src/core/audit/page-schema.ts';
import type { Span } from '../shared/plot-data.ts';
import { bridge } from './client.ts';
import { typed } from './form.ts';
import { may, sentence } from './model.ts';
import { place } from './place.ts';
import { NameField, writerName } from './writer.tsx';
import { clock, countOf, plural, severityWords } from './words.ts';

export interface FindingsProps {
  readonly page: RunPage;
  readonly look: (span: Span, at: string) => void;
  readonly changed: (page: RunPage) => void;
}

const spanOf = ([fromS, toS]: readonly [number, number]): Span => ({ fromS, toS });
const nothing: readonly Span[] = [];
const known = new WeakMap<RunPage, Map<string, readonly Span[]>>();

/** Spans that the address asks to be marked in the chart; the same array for the same question. */
export function focusOf(page: RunPage, at: string): readonly Span[] {
  if (at === '' || page.looked === null) return nothing;
  const kept = known.get(page) ?? new Map<string, readonly Span[]>();
  known.set(page, kept);
  const before = kept.get(at);
  if (before) return before;
  const finding = page.looked.findings.find((f) => `finding ${f.key}` === at);
  const visit = page.looked.visits.find((v) => `visit ${v.emitter}/${v.visit}` === at);
  const spans = finding ? finding.spans.map(spanOf) : visit ? [{ fromS: visit.fromS, toS: visit.toS }] : nothing;
  kept.set(at, spans);
  return spans;
}

/** What the audit found, the gravest first; each opens the chart where it happened. */
export function Findings({ page, look, changed }: FindingsProps) {
  const { looked, closed } = page;
  if (looked === null)
    return (
      <section class="findings">
        <h3>Findings</h3>
        <p role="status">The run is being looked at.</p>
      </section>
    );
  const open = looked.findings.filter((f) => !closed.includes(f.key));
  const counts = severityNames
    .map((s) => [s, open.filter((f) => f.severity === s).length] as const)
    .filter(([, n]) => n > 0);
  return (
    <section class="findings" aria-label="Findings">
      <h3>Findings</h3>
      <p class="quiet">
        {open.length === 0 ? 'None open.' : counts.map(([s, n]) => countOf(s, n)).join(', ')}
        {closed.length > 0 ? `; ${closed.length} closed` : ''}
      </p>
      <ol>
        {[...open, ...looked.findings.filter((f) => closed.includes(f.key))].map((finding) => (
          <Finding
            key={finding.key}
            finding={finding}
            page={page}
            isClosed={closed.includes(finding.key)}
            look={look}
            changed={changed}
          />
        ))}
      </ol>
      <details>
        <summary>{plural(looked.notApplicable.length, 'rule')} could not be held to this run</summary>
        <ul class="plain-list">
          {looked.notApplicable.map((n) => (
            <li key={n.id}>
              {n.title}: {n.because}
            </li>
          ))}
        </ul>
      </details>
      <p class="quiet">Held to: {looked.rules}.</p>
    </section>
  );
}

function Finding({
  finding,
  page,
  isClosed,
  look,
  changed,
}: FindingsProps & { finding: FindingView; isClosed: boolean }) {
  const at = `finding ${finding.key}`;
  const isHere = place.value.at === at;
  const said = page.comments.findLast((c) => c.finding === finding.key && c.kind !== 'comment');
  const first = finding.spans[0];
  return (
    <li class={`finding is-${finding.severity}${isClosed ? ' is-closed' : ''}${isHere ? ' is-here' : ''}`}>
      <p class="finding-top">
        <span class="severity">{isClosed ? 'Closed' : severityWords[finding.severity]}</span>
        <b>{finding.title}</b>
      </p>
      <p>{finding.text}</p>
      <p class="evidence">
        {finding.spans.slice(0, 8).map((span) => (
          <button type="button" key={span[0]} onClick={() => look(spanOf(span), at)}>
            {clock(span[0])}
            {span[1] - span[0] >= 1 ? ` to ${clock(span[1])}` : ''}
          </button>
        ))}
        {finding.spans.length > 8 && <span class="quiet"> and {finding.spans.length - 8} more</span>}
        {first === undefined && <span class="quiet">Of the run as a whole.</span>}
      </p>
      {said?.kind === 'close' && isClosed && (
        <p class="quiet">
          Closed by {said.by}: {said.text}
        </p>
      )}
      <details>
        <summary>Why it matters</summary>
        <p>{finding.why}</p>
        <p class="quiet">Source: {finding.source}.</p>
        <dl class="figures">
          {Object.entries(finding.figures).map(([name, value]) => (
            <div key={name}>
              <dt>{name}</dt>
              <dd>{Math.round(value * 100) / 100}</dd>
            </div>
          ))}
        </dl>
        {may('auditor') && <CloseForm finding={finding} page={page} isClosed={isClosed} changed={changed} />}
      </details>
    </li>
  );
}

interface CloseProps {
  readonly finding: FindingView;
  readonly page: RunPage;
  readonly isClosed: boolean;
  readonly changed: (page: RunPage) => void;
}

function CloseForm({ finding, page, isClosed, changed }: CloseProps) {
  const [wrong, setWrong] = useState<string | null>(null);
  return (
    <form
      class="close-form"
      onSubmit={(event) => {
        event.preventDefault();
        const form = event.currentTarget;
        const text = typed(form, 'text');
        const kind = isClosed ? 'reopen' : 'close';
        bridge.comment(page.run.runId, { kind, finding: finding.key, text, by: writerName(form) }).then(
          (answer) => {
            changed(answer);
            setWrong(null);
            form.reset();
          },
          (error: unknown) => setWrong(sentence(error)),
        );
      }}
    >
      <label>
        {isClosed ? 'Why it is open again' : 'Why it can be closed'}
        <input name="text" required maxLength={4000} />
      </label>
      <NameField />
      <button type="submit">{isClosed ? 'Open again' : 'Close this finding'}</button>
      {wrong !== null && <p class="warn">{wrong}</p>}
    </form>
  );
}
