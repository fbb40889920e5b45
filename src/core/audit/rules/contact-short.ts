import { typedFigure } from '../../job/stages/stage.ts';
import { hasSeen, isPast, stageMissing } from '../coverage.ts';
import { found, notApplicable, rule } from '../rule.ts';

export const contactShort = rule({
  id: 'contact-short',
  title: 'Contact time of the cleaner too short',
  why: 'The label’s time is what the cleaner needs to loosen the dirt; time without flow does not count.',
  source: 'the label’s time, as typed in',
  severity: 'warning',
  thresholds: {
    share: {
      default: 1,
      unit: 'of the label’s time',
      about: 'least time with flow since the cleaner went in',
      least: 0,
      most: 10,
      looser: 'lower',
    },
  },
  judge: (run, { share }) => {
    const missing = stageMissing(run, 'dose');
    if (missing) return missing;
    // The clock runs on until the rinse.
    if (!isPast(run, 'circulate')) return notApplicable('under-way');
    const { job, live } = run.driven;
    const wantedMin = typedFigure(job, 'contact-min');
    if (wantedMin === null) return notApplicable('no-contact-time');
    if (!job.doses.some((d) => d.what !== 'inhibitor')) return notApplicable('no-cleaner');
    if (!hasSeen(run, 'flowLpm') || !live.contact) return notApplicable('no-flow');
    const countedMin = live.contact.countedS / 60;
    if (countedMin >= share * wantedMin) return found([]);
    const figures = { countedMin, wantedMin };
    return found([{ subject: '', stage: 'dose', params: figures, spans: [], figures }]);
  },
});
