import { between, type Uncertain, withShare } from '../quantity/interval.ts';
import { given, type Outcome, outOfRange, refused } from '../quantity/refusal.ts';
import { litresPerMetre } from './tube.ts';

/**
 * Water content of an emitter. No table of contents that may be used was found, so what is not typed in is a range of
 * our own, wide on purpose and labelled an estimate. Typed litres (from the maker's plate or sheet) win over it; a floor
 * loop is geometry.
 */
export const emitterTypes = [
  'panel',
  'double-panel',
  'triple-panel',
  'column',
  'towel-rail',
  'convector',
  'floor-loop',
] as const;
export type EmitterType = (typeof emitterTypes)[number];

export interface EmitterSize {
  readonly type: EmitterType;
  readonly litres?: number | undefined;
  readonly lengthMm?: number | undefined;
  readonly heightMm?: number | undefined;
  readonly sections?: number | undefined;
  /** Floor loop: tube. */
  readonly innerMm?: number | undefined;
  readonly tubeM?: number | undefined;
}

export interface Content {
  readonly litres: Uncertain;
  readonly origin: 'typed' | 'geometry' | 'estimate';
}

/** Litres for a square metre of face (panels, rails), a metre of coil, or a section: range, our own estimate, no source. */
const perFaceM2: Readonly<Partial<Record<EmitterType, readonly [number, number]>>> = {
  panel: [3.5, 7],
  'double-panel': [7, 14],
  'triple-panel': [10, 21],
  'towel-rail': [5, 12],
};
const perCoilM: readonly [number, number] = [0.3, 1];
const perSectionAt600: readonly [number, number] = [0.6, 1.6];

/** Typed litres are good to a twentieth: plates round, and scale takes room. Our own estimate. */
export const typedShare = 0.05;

/** Water content, litres. Refuses sizes that no emitter has, and says what is missing. */
export function emitterContent(e: EmitterSize): Outcome<Content> {
  if (e.litres !== undefined) {
    const refusal = outOfRange('water content of the emitter', e.litres, 0.05, 500, 'l');
    return refusal ? { ok: false, refusal } : given({ litres: withShare(e.litres, typedShare), origin: 'typed' });
  }
  if (e.type === 'floor-loop') return floorLoop(e);
  const perFace = perFaceM2[e.type];
  if (perFace) return perSize(e, perFace);
  if (e.type === 'convector') {
    if (e.lengthMm === undefined) return refused('emitter-size-missing', { type: e.type, needs: 'its length' });
    const refusal = outOfRange('length of the emitter', e.lengthMm, 200, 6000, 'mm');
    return refusal ? { ok: false, refusal } : given(estimate(perCoilM, e.lengthMm / 1000));
  }
  if (e.sections === undefined)
    return refused('emitter-size-missing', { type: e.type, needs: 'its number of sections' });
  const height = e.heightMm ?? 600;
  const refusal =
    outOfRange('number of sections', e.sections, 1, 80, '') ??
    outOfRange('height of the emitter', height, 200, 3000, 'mm');
  return refusal ? { ok: false, refusal } : given(estimate(perSectionAt600, (e.sections * height) / 600));
}

function perSize(e: EmitterSize, range: readonly [number, number]): Outcome<Content> {
  if (e.lengthMm === undefined || e.heightMm === undefined)
    return refused('emitter-size-missing', { type: e.type, needs: 'its length and height' });
  const refusal =
    outOfRange('length of the emitter', e.lengthMm, 200, 6000, 'mm') ??
    outOfRange('height of the emitter', e.heightMm, 100, 3000, 'mm');
  return refusal ? { ok: false, refusal } : given(estimate(range, (e.lengthMm * e.heightMm) / 1e6));
}

function floorLoop(e: EmitterSize): Outcome<Content> {
  if (e.innerMm === undefined || e.tubeM === undefined)
    return refused('emitter-size-missing', { type: e.type, needs: 'its inner bore and tube length' });
  const refusal =
    outOfRange('inner bore of the loop', e.innerMm, 3, 50, 'mm') ??
    outOfRange('tube length of the loop', e.tubeM, 1, 300, 'm');
  if (refusal) return { ok: false, refusal };
  return given({ litres: withShare(litresPerMetre(e.innerMm) * e.tubeM, 0.1), origin: 'geometry' });
}

function estimate(range: readonly [number, number], size: number): Content {
  return { litres: between(range[0] * size, range[1] * size), origin: 'estimate' };
}
