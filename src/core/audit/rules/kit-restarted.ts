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
    const told = restarts(run);
    const count = told.reduce((sum, r) => sum + r.count, 0);
    const figures = { restarts: count };
    const spans = told.map((r) => r.span);
    return found(count <= times ? [] : [{ subject: '', params: figures, spans, figures }]);
  },
});

/** As the bridge remarked of itself and of its kit: of many in a minute it tells the number. */
function restarts(run: Gathered): { readonly span: Span; readonly count: number }[] {
  const bridge = run.active.filter((e) => e.who === 'bridge' && e.id.startsWith('bridge-restart'));
  return [...bridge, ...eventsNamed(run, 'kit-restart')]
    .map(({ event: { timeS, data } }) => {
      const count = data?.['restarts'];
      return { span: [timeS, timeS] as const, count: typeof count === 'number' ? count : 1 };
    })
    .toSorted((a, b) => a.span[0] - b.span[0]);
}
