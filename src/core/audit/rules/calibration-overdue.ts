import { dataText, eventsNamed } from '../gather.ts';
import { dayNumber } from '../wall-time.ts';
import { found, notApplicable, practice, rule } from '../rule.ts';

export const calibrationOverdue = rule({
  id: 'calibration-overdue',
  title: 'Calibration overdue',
  why: 'Lamps age and windows wear: past its date nobody vouches for the readings.',
  source: practice,
  severity: 'warning',
  thresholds: {
    graceDays: {
      default: 0,
      unit: 'days',
      about: 'after the due date that are let by',
      least: 0,
      most: 3650,
      looser: 'higher',
    },
  },
  judge: (run, { graceDays }) => {
    const told = eventsNamed(run, 'calibrated').filter((e) => dataText(e.event, 'certificate') !== '');
    if (told.length === 0) return notApplicable('no-certificate');
    return found(
      told.flatMap(({ event, wallAt, id }) => {
        const channel = dataText(event, 'channel');
        const due = dataText(event, 'due');
        const days = daysBetween(due, wallAt === '' ? run.input.head.startedAt : wallAt);
        const isOverdue = days === null ? dataText(event, 'state') === 'overdue' : days > graceDays;
        if (!isOverdue) return [];
        return [
          {
            subject: `${channel}/${id}`,
            params: { channel, due, ...(days === null ? {} : { days }) },
            spans: [[event.timeS, event.timeS] as const],
            figures: days === null ? {} : { days },
          },
        ];
      }),
    );
  },
});

function daysBetween(from: string, to: string): number | null {
  const [a, b] = [dayNumber(from), dayNumber(to)];
  return a === null || b === null ? null : b - a;
}
