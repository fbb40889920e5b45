import { testItems } from '../../chemistry/limits.ts';
import { found, notApplicable, rule } from '../rule.ts';

export const samplesOutside = rule({
  id: 'samples-outside',
  title: 'Water test outside its limit',
  why: 'The water that stays in the system is not what it should be.',
  source: 'the limit’s own origin, told beside it; none was read in the text of a standard',
  severity: 'serious',
  thresholds: {
    overShare: {
      default: 0,
      unit: 'of the limit',
      about: 'so far beyond the limit is let by, over and above its uncertainty',
      least: 0,
      most: 10,
      looser: 'higher',
    },
  },
  judge: (run, { overShare }) => {
    const { compared, tests } = run.driven.worked;
    if (Object.keys(tests.after).length === 0) return notApplicable('no-after-test');
    const at = run.driven.job.entries['sample after']?.timeS ?? run.endS;
    return found(
      compared.flatMap((row) => {
        const { after, least, most, item } = row;
        if (row.verdict !== 'outside' || after === 'not-measured') return [];
        const isHigh = most !== null && after.value > most;
        const limit = isHigh ? most : (least ?? Number.NaN);
        const beyond = Math.abs(after.value - limit);
        if (beyond <= overShare * Math.abs(limit)) return [];
        const { title, unit } = testItems[item];
        const params = { what: title, unit, value: after.value, limit, side: isHigh ? 'most' : 'least' };
        return [
          {
            subject: item,
            stage: 'after-samples' as const,
            params: { ...params, origin: row.origin ?? '' },
            spans: [[at, at] as const],
            figures: { value: after.value, u: after.u, limit },
          },
        ];
      }),
    );
  },
});
