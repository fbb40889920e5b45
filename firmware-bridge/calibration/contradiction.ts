import { applyCurve } from './curve.ts';
import { type Fit, FitError, fitLine, fitSteps, type Standard } from './fit.ts';

/** A standard beside what the kit itself made of it; null where it gave nothing. */
export interface StandardTold extends Standard {
  readonly kitValue: number | null;
}

/**
 * Two standards that were mixed up give a fine line that falls. A raw reading may rise or fall with the quantity, so it is
 * the kit's own values that tell: they run as the standards do. Throws FitError when two of them run the other way: the outermost at all,
 * others by more than uncertainties and scatter explain.
 */
export function refuseMixedUp(standards: readonly StandardTold[], input: 'raw' | 'kit', unit: string): void {
  const own = standards.flatMap((s) => {
    const kit = input === 'kit' ? s.raw : s.kitValue;
    return kit === null ? [] : [{ ...s, kit }];
  });
  const kitSlope = input === 'kit' ? 1 : steepest(own);
  const values = own.map((s) => s.value);
  const [least, most] = [Math.min(...values), Math.max(...values)];
  let worst: { low: Standard; high: Standard; by: number } | null = null;
  for (const low of own)
    for (const high of own) {
      const by = low.kit - high.kit;
      const isOuter = low.value === least && high.value === most && most > least;
      const isMore = high.value - low.value > 2 * Math.hypot(low.u, high.u);
      const isSeen = isMore && by > 3 * kitSlope * Math.hypot(low.uRaw, high.uRaw);
      if ((isOuter || isSeen) && by > (worst?.by ?? 0)) worst = { low, high, by };
    }
  if (worst)
    throw new FitError(
      `The kit reads less of the standard ${worst.high.value} ${unit} than of the standard ${worst.low.value} ${unit}. Were the two mixed up? Measure both again. If they were not, the firmware takes the sensor the wrong way round: mend that first.`,
    );
}

/** Kit's own units for one of the raw reading, by the two standards that lie farthest apart. */
function steepest(own: readonly { readonly raw: number; readonly kit: number }[]): number {
  const raws = own.map((s) => s.raw);
  const kits = own.map((s) => s.kit);
  const span = Math.max(...raws) - Math.min(...raws);
  return span > 0 ? (Math.max(...kits) - Math.min(...kits)) / span : 0;
}

/** How far a standard may lie off the curve: by its uncertainty, or a share of what the standards span. Common practice, no source. */
function allowed({ u }: Standard, span: number): number {
  return Math.max(0.15 * span, 4 * u);
}

/** The farthest that a standard lies off its curve, as a share of what is allowed: over 1 they contradict one another. */
function strain(fit: Fit, standards: readonly Standard[], span: number): number {
  return Math.max(...standards.map((s, i) => Math.abs(fit.residuals[i] ?? 0) / allowed(s, span)));
}

function fitOrNull(kind: 'line' | 'steps', standards: readonly Standard[]): Fit | null {
  try {
    return kind === 'steps' ? fitSteps(standards) : fitLine(standards);
  } catch (error) {
    if (error instanceof FitError) return null;
    throw error;
  }
}

/**
 * Throws FitError when standards contradict the curve through all of them. A wrong one draws the curve to itself and puts
 * the good ones off it: named is the one without which the others agree, and all such when it could be any of them.
 */
export function refuseContradiction(
  fit: Fit,
  kind: 'line' | 'steps',
  standards: readonly Standard[],
  unit: string,
): void {
  const values = standards.map((s) => s.value);
  const span = Math.max(...values) - Math.min(...values);
  const all = strain(fit, standards, span);
  if (!(all > 1)) return;
  const without = standards.flatMap((own, at) => {
    const others = standards.filter((_, i) => i !== at);
    const rest = fitOrNull(kind, others);
    if (!rest) return [];
    const off = Math.abs(applyCurve(rest.curve, own.raw).value - own.value);
    return [{ own, off, strain: strain(rest, others, span) }];
  });
  without.sort((a, b) => a.strain - b.strain);
  const [best, second] = without;
  const steps = kind === 'line' ? fitOrNull('steps', standards) : null;
  const bends = steps !== null && strain(steps, standards, span) <= 1;
  const orElse = bends ? ', or use straight pieces if the sensor bends' : '';
  const form = (value: number): string => `${Number(value.toPrecision(3))} ${unit}`;
  if (best && best.strain <= 1 && (!second || second.strain > 2 * Math.max(best.strain, 0.1)))
    throw new FitError(
      `The standard ${best.own.value} ${unit} lies ${form(best.off)} off the curve through the others. Measure it again${orElse}.`,
    );
  const suspects = without.filter((w) => w.strain <= 1).map((w) => w.own.value);
  const which =
    suspects.length === 0
      ? 'More than one of them is wrong'
      : `Which one is wrong cannot be told: ${suspects.toSorted((a, b) => a - b).join(' or ')} ${unit}`;
  const farthest = Math.max(...fit.residuals.map(Math.abs));
  throw new FitError(
    `The standards lie up to ${form(farthest)} off the curve through all of them. ${which}. Measure them again${orElse}.`,
  );
}
