import { dataText, eventsNamed } from '../gather.ts';
import { hasSeen } from '../coverage.ts';
import { found, notApplicable, practice, rule } from '../rule.ts';

export const calibrationMissing = rule({
  id: 'calibration-missing',
  title: 'Turbidity not calibrated',
  why: 'A verdict compares readings with each other and survives it; limits in NTU do not.',
  source: practice,
  severity: 'warning',
  thresholds: {},
  judge: (run) => {
    if (run.input.head.simulated) return notApplicable('simulated');
    if (!hasSeen(run, 'turbidityNtu')) return notApplicable('no-turbidity');
    const told = eventsNamed(run, 'calibrated').filter((e) => dataText(e.event, 'channel') === 'turbidity');
    if (told.length === 0 && run.input.chain === null) return notApplicable('calibration-untold');
    const without = told.filter((e) => dataText(e.event, 'state') === 'none');
    if (told.length > 0 && without.length === 0) return found([]);
    const kit = without[0] ? dataText(without[0].event, 'kit') : '';
    return found([{ subject: '', params: { kit }, spans: [], figures: {} }]);
  },
});
