import type { Visit } from '../line/verdict.ts';
import { exact, type Uncertain } from '../quantity/interval.ts';
import { gramsOf } from './dirt.ts';
import { halfFill, halfFillOf } from './half-fill.ts';
import type { Look } from './stages/stage.ts';

/** What is known of one emitter while it is worked on, and what it gave. */
export interface EmitterGave {
  readonly name: string;
  readonly volumeL: number;
  readonly visits: readonly Visit[];
  readonly passes: number;
  readonly pulses: number;
  readonly peakNtu: number | null;
  /** Always an estimate; null before anything was carried. */
  readonly solidsG: Uncertain | null;
  /** Litres to let out so that it is about half full. */
  readonly toDropL: number;
  /** Litres from it to the sensor, its own half included, and seconds at the flow of now; null without flow. */
  readonly transitL: number;
  readonly transitS: number | null;
}

/** Under this no transit can be told, l/min. */
const leastLpm = 0.5;

export function emitterGave(look: Pick<Look, 'context' | 'visits' | 'live'>, id: string): EmitterGave {
  const { context, live } = look;
  const known = context.emitters.find((e) => e.id === id);
  const visits = look.visits.filter((v) => v.emitter === id);
  const peaks = visits.flatMap((v) => v.pulses.flatMap((p) => (p.peakNtu === null ? [] : [p.peakNtu])));
  const volumeL = known?.volume_l ?? 0;
  const transitL = (known?.path_l ?? context.return_volume_l) + halfFill * volumeL;
  const { flowLpm } = live.now;
  return {
    name: known?.name || id,
    volumeL,
    visits,
    passes: visits.reduce((n, v) => n + v.passesS.length, 0),
    pulses: visits.reduce((n, v) => n + v.pulses.length, 0),
    peakNtu: peaks.length === 0 ? null : Math.max(...peaks),
    solidsG: gramsOf(live.dirt, id),
    toDropL: halfFillOf(exact(volumeL), null).toDropL.value,
    transitL,
    transitS: flowLpm !== null && flowLpm >= leastLpm ? (60 * transitL) / flowLpm : null,
  };
}
