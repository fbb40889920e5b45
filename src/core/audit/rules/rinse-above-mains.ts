import { typedFigure } from '../../job/stages/stage.ts';
import { hasSeen } from '../coverage.ts';
import { ofRinse } from '../of-rinse.ts';
import type { Span } from '../finding.ts';
import type { Gathered } from '../gather.ts';
import type { Reason } from '../../line/verdict.ts';
import { isOverBy, rinseEndOf } from '../../rinse/end.ts';
import { type Evidence, found, type Judged, notApplicable, rule } from '../rule.ts';

export const rinseAboveMains = rule({
  id: 'rinse-above-mains',
  title: 'Rinse ended above mains level',
  why: 'What is left in the water stays in the system: dirt settles again and cleaner weakens the inhibitor.',
  source:
    'common practice, no source: turbidity of the mains and conductivity within 10 % of it; check the local standard',
  severity: 'serious',
  thresholds: {
    overNtu: {
      default: 0,
      unit: 'NTU',
      about: 'turbidity over the limit that is let by',
      least: 0,
      most: 1000,
      looser: 'higher',
    },
    overUsCm: {
      default: 0,
      unit: 'µS/cm',
      about: 'conductivity over the limit that is let by',
      least: 0,
      most: 10000,
      looser: 'higher',
    },
  },
  judge: ofRinse((run, { overNtu, overUsCm }, spans) => {
    if (!hasSeen(run, 'turbidityNtu')) return byTypedFigures(run, spans, overNtu, overUsCm);
    const { rinse } = run.driven;
    if (!rinse || rinse.withheld || rinse.verdict.state === 'cannot-tell') return notApplicable('rinse-untold');
    if (rinseEndOf(rinse.verdict) !== 'above-mains') return found([]);
    const { turbidityNtu, turbidityLimitNtu, conductivityUsCm, conductivityLimitUsCm } = rinse.verdict.reason.figures;
    const isDirty = isOverBy(turbidityNtu, turbidityLimitNtu, overNtu);
    const isSalty = isOverBy(conductivityUsCm, conductivityLimitUsCm, overUsCm);
    if (!isDirty && !isSalty) return found([]);
    return found([endedAt(rinse.verdict.reason, spans)]);
  }),
});

/** What the rinse ended at, as far as it was measured. */
export function endedAt({ figures: all }: Reason, spans: readonly Span[]): Evidence {
  const { turbidityNtu, turbidityLimitNtu, conductivityUsCm, conductivityLimitUsCm } = all;
  const figures = Object.fromEntries(
    Object.entries({ turbidityNtu, turbidityLimitNtu, conductivityUsCm, conductivityLimitUsCm }).flatMap(
      ([name, value]) => (value === undefined || !Number.isFinite(value) ? [] : [[name, value] as const]),
    ),
  );
  return { subject: '', stage: 'rinse', params: figures, spans, figures };
}

/** A rig without the sensor rinses by what the engineer read off by eye: the limits are those of the stage's own gate. */
function byTypedFigures(run: Gathered, spans: readonly Span[], overNtu: number, overUsCm: number): Judged {
  const { job, context } = run.driven;
  const turbidityNtu = typedFigure(job, 'rinse-ntu');
  if (turbidityNtu === null) return notApplicable('rinse-untold');
  const { turbidity_ntu, conductivity_us_cm } = context.mains;
  const turbidityLimitNtu = turbidity_ntu + Math.max(5, 0.1 * turbidity_ntu);
  const conductivityUsCm = typedFigure(job, 'rinse-us-cm');
  const conductivityLimitUsCm = 1.1 * conductivity_us_cm;
  const isSalty = isOverBy(conductivityUsCm ?? undefined, conductivityLimitUsCm, overUsCm);
  if (!isOverBy(turbidityNtu, turbidityLimitNtu, overNtu) && !isSalty) return found([]);
  const figures = {
    turbidityNtu,
    turbidityLimitNtu,
    ...(conductivityUsCm === null ? {} : { conductivityUsCm, conductivityLimitUsCm }),
  };
  return found([{ subject: '', stage: 'rinse', params: figures, spans, figures }]);
}
