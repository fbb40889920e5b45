import {
  type Certificate,
  calibrate,
  certificateSchema,
  limitOfDetection,
  standing,
} from '../../firmware-bridge/calibration/certificate.ts';
import type { Pack } from '../../firmware-bridge/wire/pack.ts';
import type { RunEvent } from '../core/job/event.ts';
import { type ChannelName, channelByName, channels } from '../core/quantity/channels.ts';
import { roundToChannel, type Sample } from '../core/quantity/sample.ts';

/** Where certificates are kept; the store is one. */
export interface CertificateKeeper {
  /** Bodies of all certificates of a kit (of every kit when none is named), oldest first. */
  certificates(kit?: string): string[];
}

export const calibratedEvent = 'calibrated';
type Values = Partial<Record<keyof Omit<Sample, 'timeS'>, number>>;

/** All certificates that are kept, oldest first. One that this version cannot read is left out. */
export function readCertificates(keeper: CertificateKeeper, kit?: string): Certificate[] {
  return keeper.certificates(kit).flatMap((body) => {
    const parsed = certificateSchema.safeParse(JSON.parse(body));
    return parsed.success ? [parsed.data] : [];
  });
}

/**
 * Applies the newest certificate of each channel at the boundary, before a reading enters the run. A channel without one
 * keeps the kit's own value; one that is overdue is still used, and said. What a kit left out stays out: it knows when
 * its sensor failed.
 */
export class Calibration {
  private readonly keeper: CertificateKeeper;
  private readonly byKit = new Map<string, ReadonlyMap<ChannelName, Certificate>>();

  constructor(keeper: CertificateKeeper) {
    this.keeper = keeper;
  }

  /** A certificate was added: look again. */
  renew(): void {
    this.byKit.clear();
  }

  /** The certificates in use for a kit, newest of each channel. */
  of(kit: string): ReadonlyMap<ChannelName, Certificate> {
    const known = this.byKit.get(kit);
    if (known) return known;
    const found = new Map<ChannelName, Certificate>();
    for (const certificate of readCertificates(this.keeper, kit)) {
      const channel = channelByName(certificate.channel);
      if (channel) found.set(channel.name, certificate);
    }
    this.byKit.set(kit, found);
    return found;
  }

  /** The values of a pack in our units, calibrated where there is a certificate. */
  values(pack: Pack): Values {
    const certificates = this.of(pack.kit);
    if (certificates.size === 0) return pack.values;
    const values: Values = { ...pack.values };
    for (const [name, certificate] of certificates) {
      const channel = channelByName(name);
      const own = channel && pack.values[channel.key];
      if (!channel || own === undefined) continue;
      const input = certificate.input === 'raw' ? pack.raw[name] : own;
      if (input === undefined) continue;
      const { value } = calibrate(certificate, input);
      if (value >= channel.min && value <= channel.max) values[channel.key] = roundToChannel(value, channel.decimals);
      else if (Number.isFinite(value) && channel.min === 0 && value < 0) values[channel.key] = 0;
      else delete values[channel.key];
    }
    return values;
  }

  /**
   * What holds for a kit now, as the data of one event `calibrated` per channel: each channel with a certificate, and
   * turbidity always, because its verdict rests on it.
   */
  told(kit: string, nowIso: string): NonNullable<RunEvent['data']>[] {
    const certificates = this.of(kit);
    return channels.flatMap(({ name }) => {
      const certificate = certificates.get(name);
      if (certificate) return [toldOf(certificate, nowIso)];
      return name === 'turbidity' ? [{ kit, channel: name, certificate: '', due: '', state: 'none' }] : [];
    });
  }
}

function toldOf(certificate: Certificate, nowIso: string): NonNullable<RunEvent['data']> {
  const { id, kit, channel, input, madeAt, dueAt, who, blankSd, step, hi } = certificate;
  const detection = limitOfDetection(certificate);
  return {
    kit,
    channel,
    certificate: id,
    input,
    who,
    made: madeAt.slice(0, 10),
    due: dueAt.slice(0, 10),
    state: standing(certificate, nowIso),
    ...(blankSd === null ? {} : { blankSd }),
    ...(step === null ? {} : { step }),
    ...(hi === null ? {} : { hi }),
    ...(detection === null ? {} : { limitOfDetection: detection }),
    // Whole, so that the record can be checked where the bridge is not: standards, curve, uncertainties.
    sheet: JSON.stringify(certificate),
  };
}
