import type { RunPage } from '../../src/core/audit/page-schema.ts';
import type { Span } from '../shared/plot-data.ts';
import { shownSpan, viewOf } from './run-chart.tsx';
import { clock, length } from './words.ts';

interface Props {
  readonly page: RunPage;
  readonly look: (span: Span, at: string) => void;
}

/** A part of the line that is narrower is no target for a finger: the list beside the line leads there, too. */
const leastShare = 0.045;

/** The run as a whole: stages in their order, visits below, and what the chart shows now. */
export function TimeLine({ page, look }: Props) {
  const { left, width } = placesOf(page);
  const { stages = [], visits = [], gaps = [] } = page.looked ?? {};
  const isWide = (span: Span): boolean => (span.toS - span.fromS) / Math.max(1, page.toS) >= leastShare;
  return (
    <nav class="time-line" aria-label="Stages and visits of the run">
      <ol class="line-stages">
        {stages.map((s) => {
          const title = `${s.title}: ${clock(s.fromS)} to ${clock(s.toS)}, ${length(s.toS - s.fromS)}${s.why ? `. ${s.why}` : ''}`;
          return (
            <li key={`${s.stage} ${s.fromS}`} style={{ left: left(s.fromS), width: width(s) }} title={title}>
              {isWide(s) ? (
                <button type="button" onClick={() => look(s, `stage ${s.stage}`)}>
                  {s.title}
                </button>
              ) : (
                <span class="narrow">{s.title}</span>
              )}
            </li>
          );
        })}
      </ol>
      <ol class="line-visits">
        {visits.map((v) => {
          const title = `${v.name}, visit ${v.visit}: ${clock(v.fromS)} to ${clock(v.toS)}`;
          const kind = v.done ? 'is-done' : `is-${v.state}`;
          return (
            <li
              key={`${v.emitter} ${v.visit}`}
              style={{ left: left(v.fromS), width: width(v) }}
              title={title}
              class={`visit ${kind}`}
            >
              {isWide(v) && (
                <button type="button" aria-label={title} onClick={() => look(v, `visit ${v.emitter}/${v.visit}`)} />
              )}
            </li>
          );
        })}
        {gaps.map((g) => (
          <li class="gap" key={`gap ${g.fromS}`} style={{ left: left(g.fromS), width: width(g) }} title={g.what} />
        ))}
      </ol>
      <Brush page={page} />
    </nav>
  );
}

/** Every stage and visit by name. */
export function GoTo({ page, look }: Props) {
  const { stages = [], visits = [] } = page.looked ?? {};
  const places = [
    ...stages.map((s) => ({ words: s.title, at: `stage ${s.stage}`, span: s })),
    ...visits.map((v) => ({ words: `${v.name}, visit ${v.visit}`, at: `visit ${v.emitter}/${v.visit}`, span: v })),
  ];
  return (
    <select
      aria-label="Go to a stage or visit"
      value=""
      onChange={(event) => {
        const found = places[Number(event.currentTarget.value)];
        event.currentTarget.value = '';
        if (found) look(found.span, found.at);
      }}
    >
      <option value="">Go to</option>
      {places.map(({ words }, i) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: the order of a record never changes
        <option value={i} key={i}>
          {words}
        </option>
      ))}
    </select>
  );
}

function placesOf(page: RunPage): { left: (timeS: number) => string; width: (span: Span) => string } {
  const wholeS = Math.max(1, page.toS);
  const percent = (share: number): string => `${(100 * share).toFixed(3)}%`;
  return {
    left: (timeS) => percent(Math.min(1, Math.max(0, timeS / wholeS))),
    width: (span) => percent(Math.max(0.0012, (span.toS - span.fromS) / wholeS)),
  };
}

/** What the chart shows now: alone in moving with every frame of a drag. */
function Brush({ page }: { page: RunPage }) {
  const { left, width } = placesOf(page);
  const view = shownSpan.value ?? viewOf(page);
  return <div class="line-view" style={{ left: left(view.fromS), width: width(view) }} aria-hidden="true" />;
}
