import { isOver } from '../coverage.ts';
import { found, notApplicable, rule } from '../rule.ts';

export const notSealed = rule({
  id: 'not-sealed',
  title: 'Record not sealed',
  why: 'Its chain shows what was changed in the midst, but without a seal the whole could be made anew.',
  source: 'docs/report.md: what a seal proves',
  severity: 'note',
  thresholds: {},
  judge: (run) => {
    if (run.input.chain === null) return notApplicable('no-chain');
    if (!isOver(run)) return notApplicable('under-way');
    return found(run.input.seal === null ? [{ subject: '', params: {}, spans: [], figures: {} }] : []);
  },
});
