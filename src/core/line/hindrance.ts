import type { Level } from './level.ts';
import type { Loop } from './loop.ts';
import type { Passes } from './passes.ts';
import type { PulseWatch } from './pulses.ts';
import type { VisitRecord } from './record.ts';
import { echoAhead, restNtuL, risenNtu } from './remainder.ts';
import type { LineSettings } from './settings.ts';
import type { Reason } from './verdict.ts';
import type { Fit } from './washout.ts';

/** What is known of a visit when it is asked whether the water is clear. */
export interface Case {
  readonly timeS: number;
  readonly settings: LineSettings;
  readonly loop: Loop;
  readonly passes: Passes;
  readonly pulses: PulseWatch;
  readonly fit: Fit;
  /** What stands over the settled level now. */
  readonly now: Level;
  readonly limitNtu: number;
  /** Quantile of the normal law that each clear must hold to. */
  readonly z: number;
  /** Last second in which nothing could be told. */
  readonly blindS: number;
}

/**
 * What still stands against "clear", in the order in which it is looked at, or null: a pass under way; its water still on the
 * way; no pass yet; too much standing; too much still to come of this pass; blind a moment ago; a rise; an
 * echo on its way.
 */
export function hindrance(c: Case): Reason | null {
  const { settings, loop, passes, pulses } = c;
  const { record } = passes;
  const because = (code: string, figures = {}): Reason => ({ code, figures });
  if (passes.isUnderWay) return because('passing');
  if (passes.sinceL < passes.neededL) return because(unanswered(record));
  if (passes.isUntold(c.timeS)) return because('untold-to-come');
  const isUntouched = record.passes.length === 0 && record.pulses.length === 0;
  if (isUntouched && (c.timeS - record.fromS < settings.noPassWaitS || passes.sinceL < passes.unseenL))
    return because('no-pass-yet');
  const margin = 1 - settings.earlyDoubt / Math.max(1, record.passes.length);
  const asked = margin * Math.max(settings.clearNtu, settings.limitMargin * c.limitNtu);
  if (isOver(c, asked)) return because('over-limit');
  const rest = record.pulses.length > 0 ? restNtuL(loop, c.fit, c.now) : 0;
  const restShare = rest / (pulses.passedNtuL + rest);
  if (pulses.peakExcess >= settings.clearNtu && restShare > margin * settings.restMargin * settings.restShare)
    return because('rest-to-come', { restShare, restLimit: settings.restShare });
  if (c.timeS - c.blindS < settings.seeingS || record.isBlind) return because('seeing-again');
  if (risenNtu(loop, settings.risingS) > c.limitNtu) return because('rising');
  const ahead = echoAhead(loop, c.fit);
  if (ahead.ntu > asked) return because('echo-to-come', { echoNtu: ahead.ntu, echoInL: ahead.inL });
  return null;
}

/**
 * Over the limit, unless the last seconds say otherwise, or the whole stretch does: its fit knows a level better than a few
 * seconds can where the reading scatters.
 */
function isOver({ fit, now, z, settings }: Case, asked: number): boolean {
  if (now.ntu + z * now.sd <= asked) return false;
  const isFitted = fit.misfit < settings.fittedMisfit && fit.excessNtu + z * fit.excessSd < asked;
  return !isFitted || now.ntu >= settings.fittedMargin * asked;
}

/** Whether the wait is for the last pass's water, or for the emitter's own, before any pass. */
export function unanswered(record: VisitRecord | null): string {
  return record?.passes.length === 0 ? 'no-water-yet' : 'not-answered';
}
