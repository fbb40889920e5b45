import type { Gathered } from '../gather.ts';
import { hasSeen, timesOf } from '../coverage.ts';
import type { Span } from '../finding.ts';
import { nameOf } from '../outcome.ts';
import { type Evidence, found, notApplicable, practice, rule } from '../rule.ts';

export const moreThanOneOpen = rule({
  id: 'more-than-one-open',
  title: 'More than one emitter open',
  why: 'Flow shared between two shakes neither, and nobody can say whose dirt came.',
  source: practice,
  severity: 'warning',
  thresholds: {
    overlapS: {
      default: 15,
      unit: 's',
      about: 'the next may be opened so long before the last is shut',
      least: 0,
      most: 600,
      looser: 'higher',
    },
  },
  judge: (run, { overlapS }) => {
    const bySensor = hasSeen(run, 'flowLpm') ? byFlow(run) : [];
    const told = byTaps(run, overlapS);
    if (run.input.entries.length === 0 && !hasSeen(run, 'flowLpm')) return notApplicable('no-flow-no-event');
    return found([...told, ...bySensor]);
  },
});

/** An emitter that was told shut only well after the next was told open. */
function byTaps(run: Gathered, overlapS: number): Evidence[] {
  const inEmitters = timesOf(run, 'emitters');
  const evidence: Evidence[] = [];
  const open = new Map<string, number>();
  for (const { event } of run.active) {
    const { timeS, emitter } = event;
    if (event.event === 'emitter-open') open.set(emitter, timeS);
    if (event.event !== 'emitter-shut' || !open.has(emitter)) continue;
    const sinceS = open.get(emitter) ?? timeS;
    open.delete(emitter);
    const other = [...open].find(([, fromS]) => fromS > sinceS);
    if (!other || timeS - other[1] <= overlapS) continue;
    const isWork = inEmitters.some(([a, b]) => other[1] >= a && other[1] <= b);
    if (isWork) evidence.push(both(run, emitter, other[0], [other[1], timeS]));
  }
  return evidence;
}

function both(run: Gathered, first: string, second: string, span: Span): Evidence {
  return {
    subject: `${second}/taps/${Math.round(span[0])}`,
    emitter: second,
    stage: 'emitters',
    params: { emitter: nameOf(run, second), other: nameOf(run, first), togetherS: span[1] - span[0] },
    spans: [span],
    figures: { togetherS: span[1] - span[0] },
  };
}

/** From where the flow rose until it was back, or the visit over. */
function byFlow(run: Gathered): Evidence[] {
  const { notices } = run.driven;
  return notices
    .filter((n) => n.reason.code === 'two-open')
    .map(({ atS, fromS, reason }) => {
      const visit = run.visits.findLast((v) => v.visit.fromS <= atS);
      const visitToS = visit && visit.toS > atS ? visit.toS : atS;
      const back = notices.find((n) => n.reason.code === 'one-open' && n.atS > atS);
      const toS = Math.min(visitToS, Math.max(atS, back?.fromS ?? visitToS));
      const { flowLpm = Number.NaN, aloneLpm = Number.NaN } = reason.figures;
      const emitter = visit?.visit.emitter ?? '';
      const figures = { flowLpm, aloneLpm, lastedS: toS - fromS };
      return {
        subject: `${emitter}/flow/${Math.round(atS)}`,
        emitter,
        stage: 'emitters' as const,
        params: { emitter: nameOf(run, emitter), ...figures },
        spans: [[fromS, toS] as const],
        figures,
      };
    });
}
