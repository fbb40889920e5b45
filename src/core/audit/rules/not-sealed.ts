import { say } from '../../message/message.ts';
import { isOver, sealEntry } from '../coverage.ts';
import { found, notApplicable, rule } from '../rule.ts';

export const notSealed = rule({
  id: 'not-sealed',
  title: 'Record without a seal',
  why: 'Its chain shows what was changed in the midst, but without a seal the whole could be made anew.',
  source: 'docs/report.md: what a seal proves',
  severity: 'note',
  thresholds: {},
  judge: (run) => {
    if (run.input.chain === null) return notApplicable('no-chain');
    if (!isOver(run)) return notApplicable('under-way');
    if (run.input.seal !== null) return found([]);
    const named = sealEntry(run);
    if (named === null) return found([{ subject: '', params: {}, spans: [], figures: {} }]);
    // Taken away, not come yet, or cut short: the record holds more than what is here.
    const { sealGone } = run.input;
    const params = { ...named, told: sealGone ? say(sealGone) : '' };
    return found([{ subject: '', params, spans: [], figures: {}, severity: 'warning' }]);
  },
});
