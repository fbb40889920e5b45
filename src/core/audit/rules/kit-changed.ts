import { dataText, eventsNamed } from '../gather.ts';
import { type Evidence, found, notApplicable, practice, rule } from '../rule.ts';

export const kitChanged = rule({
  id: 'kit-changed',
  title: 'Kit changed in the midst of the run',
  why: 'Two kits differ in zero, noise and calibration: what was learned of the first does not hold for the second.',
  source: practice,
  severity: 'warning',
  thresholds: {},
  judge: (run) => {
    const hellos = eventsNamed(run, 'kit-hello');
    if (hellos.length === 0) return notApplicable('no-hello');
    return found(
      hellos.slice(1).flatMap(({ event, id }, i): Evidence[] => {
        const before = hellos[i]?.event;
        const was = before ? dataText(before, 'kit') : '';
        const is = dataText(event, 'kit');
        if (was === is) return [];
        return [{ subject: id, params: { was, is }, spans: [[event.timeS, event.timeS]], figures: {} }];
      }),
    );
  },
});
