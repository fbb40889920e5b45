import { eventsNamed, type Gathered } from '../gather.ts';
import type { Span } from '../finding.ts';
import { found, notApplicable, practice, rule } from '../rule.ts';
import { timesLetBy } from '../thresholds.ts';

export const kitRestarted = rule({
  id: 'kit-restarted',
  title: 'Kit or bridge restarted',
  why: 'A loose supply, or somebody at the plug: what came in between is not in the record.',
  source: practice,
  severity: 'note',
  thresholds: {
    times: timesLetBy,
  },
  judge: (run, { times }) => {
    if (run.input.chain === null) return notApplicable('no-chain');
    const spans = restarts(run);
    const figures = { restarts: spans.length };
    return found(spans.length <= times ? [] : [{ subject: '', params: figures, spans, figures }]);
  },
});

/** As the bridge remarked of itself and of its kit. */
function restarts(run: Gathered): Span[] {
  const bridge = run.active.filter((e) => e.who === 'bridge' && e.id.startsWith('bridge-restart'));
  return [...bridge, ...eventsNamed(run, 'kit-restart')]
    .map(({ event }): Span => [event.timeS, event.timeS])
    .toSorted((a, b) => a[0] - b[0]);
}
