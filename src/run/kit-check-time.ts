import { median, quantile } from '../core/quantity/robust.ts';
import { type CheckPoint, fix, notSeen, ok, short } from './kit-check-points.ts';
import type { KitHeard } from './kit-heard.ts';

// How the kit keeps time: its beat, its clock, its starts.

export function ratePoint(heard: KitHeard): CheckPoint {
  const title = 'Rate';
  const count = heard.intervalsS.length;
  if (count < 5 || heard.upS <= 0) return notSeen('rate', title, 'Too few packs to tell.', 'Check for longer.');
  const rateHz = count / heard.upS;
  const told = heard.hello?.rateHz ?? null;
  const figures = { rateHz, ...(told === null ? {} : { toldHz: told }) };
  if (rateHz < 0.5)
    return fix(
      'rate',
      title,
      `${short(rateHz)} packs a second.`,
      'Send at least one pack every 2 s; ten a second is usual.',
      figures,
    );
  if (told !== null && Math.abs(rateHz / told - 1) > 0.05)
    return fix(
      'rate',
      title,
      `${short(rateHz)} packs a second, but the hello says ${short(told)}.`,
      'The loop takes longer than its period: no blocking waits for a thermometer, or a lower rate; or tell the true rate.',
      figures,
    );
  const asTold = told === null ? '' : ', as the hello says';
  return ok('rate', title, `${short(rateHz)} packs a second${asTold}.`, figures);
}

export function jitterPoint(heard: KitHeard): CheckPoint {
  const title = 'Evenness';
  if (heard.intervalsS.length < 20) return notSeen('jitter', title, 'Too few packs to tell.', 'Check for longer.');
  const period = median(heard.intervalsS);
  const jitter = quantile(
    heard.intervalsS.map((s) => Math.abs(s - period)),
    0.95,
  );
  const arrival = quantile(
    heard.arrivalsS.map((s) => Math.abs(s - period)),
    0.95,
  );
  const figures = { periodS: period, jitterS: jitter, arrivalJitterS: arrival };
  if (jitter > 0.25 * period)
    return fix(
      'jitter',
      title,
      `Packs are up to ${short(1000 * jitter)} ms off their beat of ${short(1000 * period)} ms.`,
      'Send by a clock (next += period), not by waiting after each loop.',
      figures,
    );
  return ok(
    'jitter',
    title,
    `95 % of the packs keep within ${short(1000 * jitter)} ms of their beat, and arrive within ${short(1000 * arrival)} ms of it.`,
    figures,
  );
}

export function driftPoint(heard: KitHeard): CheckPoint {
  const title = 'Clock';
  if (heard.upS < 25 || heard.restarts > 0)
    return notSeen(
      'clock',
      title,
      'The drift of the kit clock shows only over half a minute without a restart.',
      'Check for 60 s.',
    );
  const ppm = heard.aligner.drift * 1e6;
  const figures = { driftPpm: ppm, scatterS: heard.aligner.uncertaintyS };
  if (Math.abs(ppm) > 5000)
    return fix(
      'clock',
      title,
      `The kit's clock is ${short(Math.abs(ppm))} parts in a million ${ppm > 0 ? 'slow' : 'fast'}.`,
      'Is the firmware built for the crystal that is on the board? A ceramic resonator should keep within 5000, a crystal within 100.',
      figures,
    );
  return ok(
    'clock',
    title,
    `${short(Math.abs(ppm))} parts in a million ${ppm > 0 ? 'slow' : 'fast'} of the bridge's clock; readings are placed to ${short(1000 * heard.aligner.uncertaintyS)} ms.`,
    figures,
  );
}

export function restartPoint(heard: KitHeard): CheckPoint {
  const title = 'Restart';
  if (heard.restarts === 0)
    return notSeen(
      'restart',
      title,
      'No restart was seen.',
      "Press the kit's reset button, or pull and put its plug, while the check runs.",
    );
  const figures = { restarts: heard.restarts, awayS: heard.awayS };
  if (!heard.bootRose)
    return fix(
      'restart',
      title,
      'boot did not rise with the restart.',
      'Count starts in EEPROM or flash, one more at each: it is how late and doubled packs are told apart.',
      figures,
    );
  if (!heard.helloAfterRestart)
    return fix(
      'restart',
      title,
      'No hello came after the restart.',
      'Send a hello with the first packs of each start.',
      figures,
    );
  if (heard.awayS > 10)
    return fix(
      'restart',
      title,
      `The kit was away for ${short(heard.awayS)} s.`,
      'Let the watchdog and the start-up take less than 10 s.',
      figures,
    );
  return ok(
    'restart',
    title,
    `Back after ${short(heard.awayS)} s, boot one more, seq from 0, with its hello.`,
    figures,
  );
}
