import type { Rule } from './rule.ts';
import { calibrationMissing } from './rules/calibration-missing.ts';
import { calibrationOverdue } from './rules/calibration-overdue.ts';
import { chamberFull } from './rules/chamber-full.ts';
import { circulationOutOfBand } from './rules/circulation-out-of-band.ts';
import { circulationShort } from './rules/circulation-short.ts';
import { cleanerRemaining } from './rules/cleaner-remaining.ts';
import { clockChanged } from './rules/clock-changed.ts';
import { contactShort } from './rules/contact-short.ts';
import { dataGap } from './rules/data-gap.ts';
import { doneWithoutPass } from './rules/done-without-pass.ts';
import { fillingLoopOpen } from './rules/filling-loop-open.ts';
import { holdLeak } from './rules/hold-leak.ts';
import { holdMissing } from './rules/hold-missing.ts';
import { inhibitorMissing } from './rules/inhibitor-missing.ts';
import { inhibitorWeak } from './rules/inhibitor-weak.ts';
import { kitChanged } from './rules/kit-changed.ts';
import { kitRestarted } from './rules/kit-restarted.ts';
import { leak } from './rules/leak.ts';
import { leftBeforeClear } from './rules/left-before-clear.ts';
import { leftUntold } from './rules/left-untold.ts';
import { moreThanOneOpen } from './rules/more-than-one-open.ts';
import { neverVisited } from './rules/never-visited.ts';
import { notDone } from './rules/not-done.ts';
import { notHandedOver } from './rules/not-handed-over.ts';
import { notSealed } from './rules/not-sealed.ts';
import { overdose } from './rules/overdose.ts';
import { overRange } from './rules/over-range.ts';
import { passesLow } from './rules/passes-low.ts';
import { passesUnmarked } from './rules/passes-unmarked.ts';
import { pressureOutOfBand } from './rules/pressure-out-of-band.ts';
import { recordBroken } from './rules/record-broken.ts';
import { rinseAboveMains } from './rules/rinse-above-mains.ts';
import { rinseBrief } from './rules/rinse-brief.ts';
import { rinseUntold } from './rules/rinse-untold.ts';
import { samplesMissing } from './rules/samples-missing.ts';
import { samplesOutside } from './rules/samples-outside.ts';
import { sensorFault } from './rules/sensor-fault.ts';
import { skippedEmitter } from './rules/skipped-emitter.ts';
import { stageLeftOut } from './rules/stage-left-out.ts';
import { stayedAfterDone } from './rules/stayed-after-done.ts';
import { temperatureOutOfBand } from './rules/temperature-out-of-band.ts';
import { verdictOverridden } from './rules/verdict-overridden.ts';
import { volumesApart } from './rules/volumes-apart.ts';
import { waterStood } from './rules/water-stood.ts';

/** All rules that ship: record, stages in their order, then what went on throughout. */
export const rules: readonly Rule[] = [
  recordBroken,
  stageLeftOut,
  samplesMissing,
  samplesOutside,
  holdMissing,
  holdLeak,
  volumesApart,
  neverVisited,
  leftBeforeClear,
  leftUntold,
  doneWithoutPass,
  passesLow,
  notDone,
  passesUnmarked,
  skippedEmitter,
  verdictOverridden,
  moreThanOneOpen,
  stayedAfterDone,
  overdose,
  contactShort,
  circulationShort,
  circulationOutOfBand,
  rinseAboveMains,
  rinseBrief,
  rinseUntold,
  cleanerRemaining,
  inhibitorMissing,
  inhibitorWeak,
  pressureOutOfBand,
  temperatureOutOfBand,
  leak,
  fillingLoopOpen,
  chamberFull,
  waterStood,
  dataGap,
  sensorFault,
  overRange,
  calibrationMissing,
  calibrationOverdue,
  kitChanged,
  kitRestarted,
  clockChanged,
  notHandedOver,
  notSealed,
];
