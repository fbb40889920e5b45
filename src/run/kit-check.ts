import type { LinkCounters } from '../../firmware-bridge/wire/link-counters.ts';
import { type CheckPoint, notSeen } from './kit-check-points.ts';
import { sensorPoints } from './kit-check-sensors.ts';
import { commandPoints, helloPoint } from './kit-check-talk.ts';
import { driftPoint, jitterPoint, ratePoint, restartPoint } from './kit-check-time.ts';
import { crcPoint, identityPoint, linesPoint, sequencePoint, valuesPoint } from './kit-check-wire.ts';
import type { KitHeard } from './kit-heard.ts';

/** All points, in the order in which one would mend them. */
export function gradeKit(heard: KitHeard, counters: LinkCounters, canHaveCrc: boolean): CheckPoint[] {
  const count = (key: keyof LinkCounters): number => heard.grown(counters, key);
  return [
    linesPoint(heard, count),
    canHaveCrc ? crcPoint(heard, count) : notSeen('crc', 'Check sum', 'A broker carries packs whole.', ''),
    identityPoint(heard),
    sequencePoint(heard, count),
    valuesPoint(heard, count),
    ratePoint(heard),
    jitterPoint(heard),
    helloPoint(heard),
    ...commandPoints(heard),
    driftPoint(heard),
    restartPoint(heard),
    ...sensorPoints(heard),
  ];
}
