import { z } from 'zod';
import { type Certificate, limitOfDetection } from '../../firmware-bridge/calibration/certificate.ts';
import type { Bucket } from '../../firmware-bridge/calibration/bucket.ts';
import { FitError } from '../../firmware-bridge/calibration/fit.ts';
import {
  certificateOf,
  type CurveKind,
  flowCertificateOf,
  type Occasion,
  type StandardRead,
  usualDays,
} from '../../firmware-bridge/calibration/make.ts';
import type { Hello } from '../../firmware-bridge/wire/pack.ts';
import { channelByName } from '../core/quantity/channels.ts';
import { Problem } from '../core/message/problem.ts';
import type { KeptCertificate } from '../store/store.ts';
import { type CertificateKeeper, readCertificates } from './calibration.ts';

/** What a calibration is made of, however it was gathered. */
export interface Work {
  readonly kit: string;
  readonly channel: string;
  readonly input: 'raw' | 'kit';
  readonly who: string;
  /** Wall clock, ms since 1970 UTC. */
  readonly nowMs: number;
  /** ISO date or time; null: the usual number of days from now. */
  readonly dueAt: string | null;
  readonly hello: Hello | null;
  readonly atC: number | null;
  readonly kind: CurveKind;
  readonly standards: readonly StandardRead[];
  /** For flow, in place of standards. */
  readonly buckets: readonly Bucket[];
}

/** A due date as ms since 1970. Throws Problem for one that no calendar has; `Date.parse` makes 3 March of 31 February. */
export function dueMs(text: string): number {
  if (!z.union([z.iso.date(), z.iso.datetime()]).safeParse(text).success)
    throw new Problem('kit-calibration', { why: `There is no date "${text}". Write it as 2027-03-31.` });
  return Date.parse(text);
}

/** The certificate that this work gives, not kept yet. Throws Problem `kit-calibration` with what is wrong. */
export function certify(keeper: CertificateKeeper, work: Work): Certificate {
  const earlier = readCertificates(keeper, work.kit).filter((c) => c.channel === work.channel);
  const range = work.hello?.channels[work.channel];
  const due = work.dueAt === null ? work.nowMs + usualDays(work.channel) * 86_400_000 : dueMs(work.dueAt);
  const occasion: Occasion = {
    kit: work.kit,
    channel: work.channel,
    input: work.input,
    who: work.who,
    madeAt: new Date(work.nowMs).toISOString(),
    dueAt: new Date(due).toISOString(),
    number: earlier.length + 1,
    kitStep: range?.step ?? null,
    kitHi: range?.hi ?? null,
    atC: work.atC,
  };
  try {
    if (work.buckets.length > 0) return flowCertificateOf(occasion, work.buckets);
    return certificateOf(occasion, work.kind, work.standards);
  } catch (error) {
    if (error instanceof FitError) throw new Problem('kit-calibration', { why: error.message });
    throw error;
  }
}

export function keptForm(certificate: Certificate): KeptCertificate {
  return { id: certificate.id, kit: certificate.kit, body: JSON.stringify(certificate) };
}

function limitText(c: Certificate, unit: string): string {
  const f = (value: number | null): string => (value === null ? 'not known' : `${short(value)} ${unit}`);
  const limit = limitOfDetection(c);
  return `noise in the lowest standard ${f(c.blankSd)}, step ${f(c.step)}; limit of detection 3 x noise + step: ${f(limit)}`;
}

function short(value: number): string {
  return String(Number(value.toPrecision(4)));
}

/** Of a curve through all its standards only the computer's rounding is left. */
function offText(residual: number): string {
  return Math.abs(residual) < 1e-9 ? '0' : short(residual);
}

/** The certificate in plain words: curve, residuals, uncertainty, limits, dates. */
export function certificateText(c: Certificate): string {
  const unit = channelByName(c.channel)?.unit ?? c.unit;
  const f = short;
  const input = c.input === 'raw' ? 'raw reading' : "kit's own value";
  const lines = [`${c.id}: ${channelByName(c.channel)?.title ?? c.channel} of ${c.kit}`];
  if (c.curve.kind === 'line') {
    const [aa, , bb] = c.curve.covariance;
    lines.push(
      `  value = ${f(c.curve.a)} + ${f(c.curve.b)} x ${input}   u(a) = ${f(Math.sqrt(aa))}, u(b) = ${f(Math.sqrt(bb))}`,
    );
  } else {
    lines.push(
      `  straight pieces through ${c.curve.knots.map((k) => `${f(k.raw)} -> ${f(k.value)} ${unit}`).join(', ')}`,
    );
  }
  for (const [i, s] of c.standards.entries())
    lines.push(
      `  standard ${f(s.value)} ${unit} (u ${f(s.u)}): read ${f(s.raw)} (u ${f(s.uRaw)}), off by ${offText(c.residuals[i] ?? 0)} ${unit}${s.what ? ` - ${s.what}` : ''}`,
    );
  // Flow has no lowest standard that would be a blank.
  if (c.channel !== 'flow') lines.push(`  ${limitText(c, unit)}`);
  lines.push(`  made ${c.madeAt.slice(0, 10)} by ${c.who}, due ${c.dueAt.slice(0, 10)}`);
  return lines.join('\n');
}
