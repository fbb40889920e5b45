import { stageMissing, tellsWholeJob } from '../coverage.ts';
import { type Evidence, found, notApplicable, practice, rule } from '../rule.ts';

const tests = [
  ['mains', 'before-samples', 'Mains'],
  ['before', 'before-samples', 'Before'],
  ['after', 'after-samples', 'After'],
] as const;

export const samplesMissing = rule({
  id: 'samples-missing',
  title: 'Water test missing',
  why: 'Without the mains there is nothing to rinse to; without before and after nothing shows what the work did.',
  source: practice,
  severity: 'warning',
  thresholds: {
    items: {
      default: 1,
      unit: 'figures',
      about: 'a test that holds fewer counts as missing',
      least: 0,
      most: 8,
      looser: 'lower',
    },
  },
  judge: (run, { items }) => {
    if (!tellsWholeJob(run)) return notApplicable('part-recorded');
    // One reason must not hide another stage's test.
    const reached = tests.filter(([, stage]) => stageMissing(run, stage) === null);
    if (reached.length === 0) return stageMissing(run, 'before-samples') ?? notApplicable('not-reached');
    return found(
      reached.flatMap(([water, stage, title]): Evidence[] => {
        const n = Object.keys(run.driven.worked.tests[water]).length;
        if (n >= items) return [];
        return [{ subject: water, stage, params: { water: title, items: n }, spans: [], figures: { items: n } }];
      }),
    );
  },
});
