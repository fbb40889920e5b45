import { hasSeen } from '../coverage.ts';
import { found, notApplicable, practice, rule } from '../rule.ts';

export const volumesApart = rule({
  id: 'volumes-apart',
  title: 'Surveyed and measured volume apart',
  why: 'Doses and waiting times go by the litres: something was not surveyed, or air was left in.',
  source: practice,
  severity: 'warning',
  thresholds: {
    share: {
      default: 0,
      unit: 'of the survey',
      about: 'difference that is let by, over and above both uncertainties',
      least: 0,
      most: 10,
      looser: 'higher',
    },
  },
  judge: (run, { share }) => {
    const { fill, filled, surveyed } = run.driven.worked;
    if (!surveyed) return notApplicable('no-survey');
    if (!filled) return notApplicable(hasSeen(run, 'flowLpm') ? 'no-fill' : 'no-fill-no-flow');
    if (!fill) return notApplicable('fill-not-from-empty');
    if (fill.verdict === 'agree' || Math.abs(fill.difference) <= share * surveyed.value) return found([]);
    const spans = run.stays.filter((s) => s.stage === 'fill').map((s) => [s.fromS, s.toS] as const);
    const figures = { measuredL: filled.value, surveyedL: surveyed.value, differenceL: fill.difference };
    return found([{ subject: '', stage: 'fill', params: figures, spans, figures }]);
  },
});
