import { utcOf } from '../../core/audit/wall-time.ts';
import { type Command, dataOption } from '../command.ts';
import { withStore } from '../with-store.ts';

/** What the store holds. */
export const runs: Command = {
  name: 'runs',
  summary: 'List the runs kept on this bridge.',
  args: [],
  options: [dataOption],
  examples: ['limpid runs', 'limpid runs --json'],
  async run({ options, out }) {
    const { hasEnded } = await import('../../run/seal-when.ts');
    return await withStore(options, (store) => {
      const last = store.currentRunId();
      const run = last === null ? null : store.openRun(last);
      const current = run && !hasEnded(run) ? last : null;
      const list = store.runs().map(({ runId, title, simulated, startedAt }) => ({
        run: runId,
        title,
        started_at: startedAt,
        simulated,
        under_way: runId === current,
      }));
      const lines = list.map((r) => {
        const marks = [...(r.simulated ? ['simulated'] : []), ...(r.under_way ? ['under way'] : [])].join(', ');
        return `${r.run}  ${moment(r.started_at)}  ${r.title}${marks ? ` (${marks})` : ''}`;
      });
      out.result({ runs: list }, lines.length > 0 ? lines.join('\n') : 'No run is kept here yet.');
      return 0;
    });
  },
};

/** Day and time in UTC, as the office's page shows it; a recording from elsewhere may know the day alone, or none. */
function moment(startedAt: string): string {
  const [day = '', time = ''] = utcOf(startedAt).split('T');
  if (day === '') return 'start not known';
  return time === '' ? day : `${day} ${time.slice(0, 5)} UTC`;
}
