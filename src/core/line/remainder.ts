import { type Level, levelAt } from './level.ts';
import type { Loop } from './loop.ts';
import type { Fit } from './washout.ts';

/** By how much the last seconds stand over those of `spanS` ago, NTU; 0 where either was not seen. */
export function risenNtu(loop: Loop, spanS: number): number {
  const last = loop.series.length - 1;
  const rise = meanAt(loop, last).ntu - meanAt(loop, last - spanS).ntu;
  return Number.isFinite(rise) ? rise : 0;
}

/** What stands over the settled level now: the mean of the last seconds, which on a falling line errs to the high side. */
export function standing(loop: Loop, fit: Fit): Level {
  const { ntu, sd } = meanAt(loop, loop.series.length - 1);
  return { ntu: ntu - fit.settledNtu, sd: Math.hypot(sd, fit.settledSd) };
}

function meanAt({ series }: Loop, to: number): Level {
  return levelAt(series, to, standingS);
}

/**
 * NTU litres still to come of the washout. The fit tells it while the tail stands out of the noise; after a small pulse
 * the tail hides there, and then the litres since the peak must vouch for it, as far as what stands now leaves room.
 */
export function restNtuL(loop: Loop, fit: Fit, now: Level): number {
  const { peak, washoutL } = loop;
  const washed = Math.exp((peak.litres - loop.litres) / washoutL);
  const hidden = Math.min(peak.ntu * washed, Math.max(0, now.ntu) + now.sd) * washoutL;
  // What comes off slowly washes out slower than the emitter empties: then the fit's own volume tells.
  const volumeL = Math.min(slowest * washoutL, Math.max(washoutL, fit.washoutL));
  const shown = Math.max(0, now.ntu - fit.echoShare * loop.echo.kernel.now + evenNtu(fit)) * volumeL;
  return Math.max(fit.restNtuL, hidden, shown);
}

/** The largest echo still to come, NTU over the settled level, and litres until then. */
export function echoAhead(loop: Loop, fit: Fit): { readonly ntu: number; readonly inL: number } {
  const { echo, settings } = loop;
  const now = standing(loop, fit);
  const shownNtu = Math.max(0, now.ntu + evenNtu(fit) + shownSds * now.sd);
  const { ntu, inL } = echo.ahead(settings.echoSds, { share: fit.echoShare, sd: fit.echoShareSd }, shownNtu);
  return { ntu: Math.max(0, ntu - evenNtu(fit)), inL };
}

/** Echo that has evened out, NTU. */
function evenNtu(fit: Fit): number {
  return fit.settledNtu - fit.backgroundNtu;
}

/** Standard deviations by which more may stand over the background than is read. */
const shownSds = 2;
/** Seconds whose mean is what stands now. */
const standingS = 5;
/** Slowest washout that the rest is reckoned with, times the learned one. */
const slowest = 5;
