import type { RunPage } from '../../src/core/audit/page-schema.ts';
import type { Span } from '../shared/plot-data.ts';
import { shownSpan, viewOf } from './run-chart.tsx';
import { clock, length } from './words.ts';

interface Props {
  readonly page: RunPage;
  readonly look: (span: Span, at: string) => void;
}

/** The run as a whole: stages in their order, visits below, and what the chart shows now. */
export function TimeLine({ page, look }: Props) {
  const { left, width } = placesOf(page);
  const { stages = [], visits = [], gaps = [] } = page.looked ?? {};
  return (
    <nav class="time-line" aria-label="Stages and visits of the run">
      <ol class="line-stages">
        {stages.map((s) => (
          <li key={`${s.stage} ${s.fromS}`} style={{ left: left(s.fromS), width: width(s) }}>
            <button
              type="button"
              title={`${s.title}: ${clock(s.fromS)} to ${clock(s.toS)}, ${length(s.toS - s.fromS)}${s.why ? `. ${s.why}` : ''}`}
              onClick={() => look(s, `stage ${s.stage}`)}
            >
              {s.title}
            </button>
          </li>
        ))}
      </ol>
      <ol class="line-visits">
        {visits.map((v) => (
          <li key={`${v.emitter} ${v.visit}`} style={{ left: left(v.fromS), width: width(v) }}>
            <button
              type="button"
              class={v.done ? 'is-done' : `is-${v.state}`}
              title={`${v.name}, visit ${v.visit}: ${clock(v.fromS)} to ${clock(v.toS)}`}
              aria-label={`${v.name}, visit ${v.visit}`}
              onClick={() => look(v, `visit ${v.emitter}/${v.visit}`)}
            />
          </li>
        ))}
        {gaps.map((g) => (
          <li class="gap" key={`gap ${g.fromS}`} style={{ left: left(g.fromS), width: width(g) }} title={g.what} />
        ))}
      </ol>
      <Brush page={page} />
    </nav>
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
