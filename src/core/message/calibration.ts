import type { Texts } from './texts.ts';

/** Sentences of calibration and of the kit's bench, by code. */
export const calibrationTexts = {
  'not-calibrated': () =>
    'Turbidity is not calibrated: the limit of detection is 3 x noise + one step. Calibrate it at the kit bench.',
  'calibration-overdue': () => 'The turbidity calibration is overdue: it is still used. Calibrate the kit again.',
  'kit-calibration': (p) => `${p['why']}`,
  'kit-none': (p) =>
    p['why']
      ? `No kit was heard on ${p['source']} within ${p['seconds']} s, but something else. ${p['why']}`
      : `No kit was heard on ${p['source']} within ${p['seconds']} s. Is it plugged in and powered, and is this its port?`,
  'kit-unknown': (p) => `No kit ${p['kit']} is heard. There is: ${p['known']}.`,
  'kit-channel-silent': (p) =>
    `The kit sends no ${p['channel']}, so it cannot be measured. Check the sensor's plug; what a kit leaves out has failed or is over its range.`,
  'kit-few': (p) => `Only ${p['found']} readings of ${p['channel']} came in ${p['seconds']} s. Measure longer.`,
  'kit-moving': (p) =>
    `${p['channel']} moved by ${p['moved']} ${p['unit']} while it was measured. Wait until it stands still, then measure again.`,
  'firmware-no-source': () =>
    'The sources of the firmware are not here, so --kit firmware cannot be used. Take a whole checkout of Limpid.',
  'firmware-no-compiler': (p) =>
    `--kit firmware builds the firmware, and that needs ${p['missing']}. Install them (Debian: sudo apt-get install make gcc-avr avr-libc binutils-avr), or leave --kit out.`,
  'firmware-build': (p) => `The firmware could not be built: ${p['detail']}`,
  'config.speed-firmware': () =>
    'The firmware runs in a simulated chip at its own speed: with --kit firmware leave --speed out.',
  'kit-busy': () => 'A check or a measurement is under way already. Wait until it is done.',
} satisfies Texts;
