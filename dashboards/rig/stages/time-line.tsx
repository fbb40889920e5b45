import type { StagePoint } from '../../../src/core/job/view-schema.ts';
import { HoldButton } from '../../shared/hold-button.tsx';
import { asking, mayWork, view } from '../model.ts';
import { type Phrase, t } from '../../shared/words/language.ts';

const marks = {
  'to-come': 'to come',
  now: 'now',
  done: 'done',
  left: 'left',
  skipped: 'skipped',
} as const satisfies Readonly<Record<StagePoint['status'], Phrase>>;

function ask(point: StagePoint): void {
  const reasons = view.value?.reasons.way ?? [];
  const button = {
    id: `stage:${point.name}`,
    label: t('Go to: {stage}', { stage: point.title }),
    event: `stage:${point.name}`,
    emitter: '',
    note: '',
    hold: false,
    primary: false,
    why: true,
  };
  asking.value = { button, reasons };
}

/** The thirteen stages: done, left with something missing, now, to come, skipped. A touch goes to any of them, with a reason. */
export function TimeLine() {
  const points = view.value?.timeLine ?? [];
  return (
    <nav class="time-line" aria-label={t('Stages of the run')}>
      {points.map((point, i) => (
        <HoldButton
          key={point.name}
          className={`point is-${point.status}`}
          hold={false}
          label={`${i + 1}, ${point.title}: ${t(marks[point.status])}${point.why === '' ? '' : `, ${point.why}`}`}
          onAct={() => {
            if (mayWork.value && point.status !== 'now') ask(point);
          }}
        >
          <span class="point-number">{i + 1}</span> <span class="point-title">{point.title}</span>{' '}
          <span class="point-mark">{point.status === 'to-come' ? '' : t(marks[point.status])}</span>
        </HoldButton>
      ))}
    </nav>
  );
}
