import { type Command, dataOption } from '../command.ts';
import { withStore } from '../with-store.ts';

/** What the store holds. */
export const runs: Command = {
  name: 'runs',
  summary: 'List the runs kept on this bridge.',
  args: [],
  options: [dataOption],
  examples: ['limpid runs', 'limpid runs --json'],
  run: ({ options, out }) =>
    withStore(options, (store) => {
      const current = store.currentRunId();
      const list = store.runs().map(({ runId, title, simulated, startedAt }) => ({
        run: runId,
        title,
        started_at: startedAt,
        simulated,
        under_way: runId === current,
      }));
      const lines = list.map((r) => {
        const marks = [...(r.simulated ? ['simulated'] : []), ...(r.under_way ? ['under way'] : [])].join(', ');
        return `${r.run}  ${r.started_at || 'start not known'}  ${r.title}${marks ? ` (${marks})` : ''}`;
      });
      out.result({ runs: list }, lines.length > 0 ? lines.join('\n') : 'No run is kept here yet.');
      return Promise.resolve(0);
    }),
};
