import { areApart, type Uncertain } from '../quantity/interval.ts';

/**
 * Water content of the whole system from its parts. The parts' own errors are independent and add in quadrature; one
 * hand measured them all and one table served them all, so a common share adds on top and does not average out.
 */
export const commonShare = 0.05;

export function systemVolume(parts: readonly Uncertain[]): Uncertain {
  let value = 0;
  let squares = 0;
  for (const p of parts) {
    value += p.value;
    squares += p.u * p.u;
  }
  return { value, u: Math.hypot(Math.sqrt(squares), commonShare * value) };
}

export type VolumeOrigin = 'survey' | 'fill' | 'dilution';

export interface BestVolume {
  readonly litres: Uncertain;
  readonly origin: VolumeOrigin;
  /** Origins that differ from the best by more than both uncertainties explain: something was missed. */
  readonly apartFrom: readonly VolumeOrigin[];
}

/** Of several findings of one volume, the surest; a measured one wins over the survey. Null for none. */
export function bestVolume(found: Readonly<Partial<Record<VolumeOrigin, Uncertain>>>): BestVolume | null {
  const all = (['fill', 'dilution', 'survey'] as const).flatMap((origin) => {
    const litres = found[origin];
    return litres ? [{ origin, litres }] : [];
  });
  const measured = all.filter((v) => v.origin !== 'survey').sort((a, b) => a.litres.u - b.litres.u);
  const best = measured[0] ?? all[0];
  if (!best) return null;
  const apartFrom = all.filter((v) => v !== best && areApart(v.litres, best.litres)).map((v) => v.origin);
  return { ...best, apartFrom };
}
