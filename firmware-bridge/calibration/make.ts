import { channelByName } from '../../src/core/quantity/channels.ts';
import { type Bucket, fitBuckets } from './bucket.ts';
import { type Certificate, certificateSchema, certificateVersion } from './certificate.ts';
import { refuseContradiction, refuseMixedUp } from './contradiction.ts';
import { applyCurve, type Curve } from './curve.ts';
import { kitFault, uFault, valueFault } from './given.ts';
import { type Fit, FitError, fitLine, fitSteps, type Standard } from './fit.ts';

/** A standard as read by a kit. */
export interface StandardRead extends Standard {
  readonly what: string;
  /** Standard deviation of single readings while it was measured, raw unit; null: not known. */
  readonly sdRaw: number | null;
  /** What the kit itself made of it meanwhile, channel unit; null where it gave nothing. */
  readonly kitValue: number | null;
}

/** What goes into a certificate beside the readings. */
export interface Occasion {
  readonly kit: string;
  readonly channel: string;
  readonly input: 'raw' | 'kit';
  readonly who: string;
  /** ISO 8601, UTC. */
  readonly madeAt: string;
  readonly dueAt: string;
  /** Running number of this kit's certificates of this channel, from 1. */
  readonly number: number;
  /** What the kit told in its hello of step and top, channel unit; null: nothing. */
  readonly kitStep: number | null;
  readonly kitHi: number | null;
  readonly atC: number | null;
}

/** How many points a curve takes: a line, straight pieces, or a shift by one point. */
export type CurveKind = 'line' | 'steps' | 'shift';

/** Days until a calibration is due, unless told otherwise. Common practice, no source. */
export function usualDays(channel: string): number {
  return channel.startsWith('turbidity') ? 90 : 365;
}

/**
 * From standards as read to a certificate. Throws FitError, with what is wrong and what to do, for what cannot be a
 * calibration: too few or equal standards, a sensor that does not answer, standards that contradict one another.
 */
export function certificateOf(occasion: Occasion, kind: CurveKind, standards: readonly StandardRead[]): Certificate {
  checkOccasion(occasion);
  for (const s of standards) checkStandard(occasion.channel, s);
  const fit = kind === 'shift' ? shift(occasion, standards) : several(occasion, kind, standards);
  const blank = standards.reduce((low, s) => (s.value < low.value ? s : low));
  const blankSd = blank.sdRaw === null ? null : slopeAt(fit.curve, blank.raw) * blank.sdRaw;
  return build(occasion, fit.curve, fit.residuals, standards, {
    blankSd,
    ...onCurve(occasion, fit.curve, standards),
  });
}

/** Flow from buckets on a scale; the curve is a factor on the kit's own litres. Throws FitError. */
export function flowCertificateOf(occasion: Occasion, buckets: readonly Bucket[]): Certificate {
  checkOccasion(occasion);
  const { curve, residuals, trueLpm } = fitBuckets(buckets);
  const standards = buckets.map((bucket, i) => ({
    value: trueLpm[i] ?? 0,
    u: ((trueLpm[i] ?? 0) * bucket.uMassKg) / bucket.massKg,
    raw: bucket.kitLpm,
    uRaw: 0,
    what: `${bucket.massKg} kg of water at ${bucket.waterC} °C, ${bucket.kitL.toFixed(3)} l by the kit`,
  }));
  const slope = curve.kind === 'line' ? curve.b : 1;
  const scaled = (value: number | null): number | null => (value === null ? null : value * slope);
  return build(occasion, curve, residuals, standards, {
    blankSd: null,
    step: scaled(occasion.kitStep),
    hi: scaled(occasion.kitHi),
  });
}

function build(
  occasion: Occasion,
  curve: Curve,
  residuals: readonly number[],
  standards: readonly (Standard & { readonly what: string })[],
  limits: { blankSd: number | null; step: number | null; hi: number | null },
): Certificate {
  const { kit, channel, input, who, madeAt, dueAt, number, atC } = occasion;
  const made = certificateSchema.safeParse({
    v: certificateVersion,
    id: `${channel}-${kit.slice(kit.lastIndexOf(':') + 1)}-${number}`,
    kit,
    channel,
    unit: channelByName(channel)?.unit ?? '',
    input,
    madeAt,
    dueAt,
    who: who.trim(),
    standards: standards.map(({ value, u, raw, uRaw, what }) => ({ value, u, raw, uRaw, what })),
    curve,
    residuals: [...residuals],
    atC,
    ...limits,
  });
  if (made.success) return made.data;
  // What no check before has a better word for: a name of a page's length, readings beyond all numbers.
  const where = made.error.issues.map((issue) => `${issue.path.join('.')}: ${issue.message}`);
  throw new FitError(`This makes no certificate. ${[...new Set(where)].join('; ')}.`);
}

function checkOccasion({ kit, channel, who, madeAt, dueAt }: Occasion): void {
  const fault = kitFault(kit);
  if (fault !== null) throw new FitError(fault);
  if (!channelByName(channel)) throw new FitError(`There is no channel "${channel}".`);
  if (who.trim() === '') throw new FitError('Who calibrates? A certificate carries a name.');
  if (dueAt <= madeAt) throw new FitError(`The due date ${dueAt.slice(0, 10)} is not after today. Give a later one.`);
}

function checkStandard(name: string, { value, u, uRaw, sdRaw }: StandardRead): void {
  const fault = valueFault(name, value) ?? uFault(name, value, u);
  if (fault !== null) throw new FitError(fault);
  if (!(uRaw >= 0) || !((sdRaw ?? 0) >= 0))
    throw new FitError(
      `The standard ${value} was read with a scatter of ${sdRaw ?? '-'} and an uncertainty of ${uRaw}; both are 0 or more.`,
    );
}

function several(occasion: Occasion, kind: 'line' | 'steps', standards: readonly StandardRead[]): Fit {
  const { channel } = occasion;
  const unit = channelByName(channel)?.unit ?? '';
  const values = standards.map((s) => s.value);
  const span = Math.max(...values) - Math.min(...values);
  if (standards.length >= 2 && span <= 0)
    throw new FitError('All standards have the same value, so nothing is known of the slope. Take another one.');
  const raws = standards.map((s) => s.raw);
  const moved = Math.max(...raws) - Math.min(...raws);
  const noise = Math.max(...standards.map((s) => s.sdRaw ?? 0));
  if (standards.length >= 2 && moved <= 2 * noise)
    throw new FitError(
      `Between the standards the reading moved by ${short(moved)} only, and it scatters by ${short(noise)}: the sensor does not answer. Check its plug and window, and that this is its channel.`,
    );
  refuseMixedUp(standards, occasion.input, unit);
  const fit = kind === 'steps' ? fitSteps(standards) : fitLine(standards);
  refuseContradiction(fit, kind, standards, unit);
  return fit;
}

/** How far one point may move a reading before it is no correction but a mistake, channel unit. Common practice, no source. */
const mostShift: Readonly<Record<string, number>> = { 't-supply': 5, 't-return': 5, pressure: 1 };
/** How far from that point the shift is taken to hold. */
const shiftHolds: Readonly<Record<string, number>> = { 't-supply': 30, 't-return': 30, pressure: 3 };

function shift({ channel, input }: Occasion, standards: readonly StandardRead[]): Fit {
  const [point] = standards;
  const most = mostShift[channel];
  const unit = channelByName(channel)?.unit ?? '';
  if (!point || standards.length !== 1)
    throw new FitError(`A shift is made by one standard; ${standards.length} given.`);
  if (most === undefined || input === 'raw')
    throw new FitError(`One standard is not enough for ${channel}: its slope has to be found too. Measure another.`);
  const by = point.value - point.raw;
  if (Math.abs(by) > most)
    throw new FitError(
      `The kit is ${short(Math.abs(by))} ${unit} off the reference: more than a good sensor can be. Is it the right sensor, and had it time to settle?`,
    );
  const around = shiftHolds[channel] ?? 0;
  const curve: Curve = {
    kind: 'line',
    a: by,
    b: 1,
    covariance: [point.u ** 2 + point.uRaw ** 2, 0, 0],
    fromRaw: point.raw - around,
    toRaw: point.raw + around,
  };
  return { curve, residuals: [0], residualSd: null };
}

function short(value: number): string {
  return String(Number(value.toPrecision(3)));
}

function slopeAt(curve: Curve, raw: number): number {
  if (curve.kind === 'line') return Math.abs(curve.b);
  const step = (curve.toRaw - curve.fromRaw) * 1e-6;
  return Math.abs((applyCurve(curve, raw + step).value - applyCurve(curve, raw).value) / step);
}

/** The kit's step and top carried over to this curve: by the kit's own line, seen at the outermost standards. */
function onCurve(
  { input, kitStep, kitHi }: Occasion,
  curve: Curve,
  standards: readonly StandardRead[],
): { step: number | null; hi: number | null } {
  const low = standards.reduce((a, b) => (b.raw < a.raw ? b : a));
  const high = standards.reduce((a, b) => (b.raw > a.raw ? b : a));
  let kitSlope = input === 'kit' ? 1 : Number.NaN;
  if (input === 'raw' && low.kitValue !== null && high.kitValue !== null && high.raw > low.raw)
    kitSlope = (high.kitValue - low.kitValue) / (high.raw - low.raw);
  if (!Number.isFinite(kitSlope) || kitSlope === 0) return { step: null, hi: null };
  const kitAt = input === 'kit' ? high.raw : (high.kitValue ?? Number.NaN);
  return {
    step: kitStep === null ? null : Math.abs(kitStep / kitSlope) * slopeAt(curve, low.raw),
    hi: kitHi === null ? null : applyCurve(curve, high.raw + (kitHi - kitAt) / kitSlope).value,
  };
}
