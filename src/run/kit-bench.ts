import { type Certificate, calibrate, limitOfDetection } from '../../firmware-bridge/calibration/certificate.ts';
import { counterSentences, type LinkCounters } from '../../firmware-bridge/wire/link-counters.ts';
import type { BenchCertificate, BenchChannel, BenchMeasured, BenchView, BenchWork } from '../core/job/bench-schema.ts';
import { say } from '../core/message/message.ts';
import { Problem } from '../core/message/problem.ts';
import { channels } from '../core/quantity/channels.ts';
import type { BenchPort } from '../server/bench-port.ts';
import type { KeptCertificate } from '../store/store.ts';
import type { Calibration, CertificateKeeper } from './calibration.ts';
import { certificateText, certify, keptForm } from './kit-certify.ts';
import { checkKit } from './kit-check-run.ts';
import type { CheckResult } from './kit-check-points.ts';
import type { KitLink } from './kit-link.ts';
import { countLitres, measure } from './kit-measure.ts';
import type { HeardKit } from './kit-watch.ts';

export interface KitBenchOptions {
  readonly link: KitLink;
  readonly store: CertificateKeeper & { addCertificate(certificate: KeptCertificate): void };
  readonly calibration: Calibration;
  /** A certificate was kept: readings go by it from now on. */
  readonly recalibrated: () => void;
  readonly leading: () => string | null;
  readonly fault: (error: unknown) => void;
}

/** The kit's bench within a running bridge. */
export class KitBench implements BenchPort {
  private readonly options: KitBenchOptions;
  private running: BenchView['check']['running'] = null;
  private result: CheckResult | null = null;
  private counting: { readonly kit: string; readonly stop: ReturnType<typeof countLitres> } | null = null;

  constructor(options: KitBenchOptions) {
    this.options = options;
  }

  view(): BenchView {
    const { link, leading } = this.options;
    return {
      source: link.source,
      problem: link.problem(),
      kits: [...link.watch.kits.values()].map((kit) => this.kitView(kit, leading())),
      counters: counted(link.counters()),
      check: { running: this.running, result: this.result },
    };
  }

  private kitView(kit: HeardKit, leading: string | null): BenchView['kits'][number] {
    const { clock } = this.options.link;
    const age = (atS: number): number => Math.max(0, (clock.nowS() - atS) / clock.speed);
    return {
      kit: kit.kit,
      leads: kit.kit === leading,
      firmware: kit.hello?.firmware ?? null,
      rateHz: kit.hello?.rateHz ?? null,
      packs: kit.packs,
      ageS: age(kit.lastAtS),
      channels: this.channelViews(kit, age),
    };
  }

  private channelViews(kit: HeardKit, age: (atS: number) => number): BenchChannel[] {
    const certificates = this.options.calibration.of(kit.kit);
    const nowIso = new Date(this.options.link.clock.wallMs()).toISOString();
    return channels.flatMap(({ name, title, unit }) => {
      const own = kit.values.get(name);
      const raw = kit.raw.get(name);
      const range = kit.hello?.channels[name];
      const certificate = certificates.get(name);
      if (!own && !raw && !range && !certificate) return [];
      const input = certificate?.input === 'raw' ? raw?.value : own?.value;
      const by = certificate && input !== undefined && own ? calibrate(certificate, input) : null;
      return [
        {
          name,
          title,
          unit,
          kitValue: own?.value ?? null,
          raw: raw?.value ?? null,
          value: by?.value ?? own?.value ?? null,
          u: by?.u ?? null,
          outside: by?.outside ?? false,
          ageS: own ? age(own.atS) : null,
          lo: range?.lo ?? null,
          hi: range?.hi ?? null,
          step: range?.step ?? null,
          certificate: certificate
            ? {
                id: certificate.id,
                who: certificate.who,
                made: certificate.madeAt.slice(0, 10),
                due: certificate.dueAt.slice(0, 10),
                overdue: nowIso > certificate.dueAt,
              }
            : null,
        },
      ];
    });
  }

  private known(kit: string): HeardKit {
    const { kits } = this.options.link.watch;
    const found = kits.get(kit);
    if (!found) throw new Problem('kit-unknown', { kit, known: [...kits.keys()].join(', ') || 'none' });
    return found;
  }

  async command(asked: Parameters<BenchPort['command']>[0]): ReturnType<BenchPort['command']> {
    this.known(asked.kit);
    const { link } = this.options;
    const command = asked.command === 'rate' ? { kind: 'rate' as const, hz: asked.hz } : { kind: asked.command };
    const { problem, hello } = await link.ask(asked.kit, command);
    if (problem) return { ok: false, text: say(problem) };
    if (asked.command === 'blink') return { ok: true, text: 'It took the command: its light blinks, if it has one.' };
    return { ok: true, text: `Firmware ${hello?.firmware}, ${hello?.rateHz ?? '?'} packs a second.` };
  }

  async measure(kit: string, channel: string, seconds: number): Promise<BenchMeasured> {
    this.known(kit);
    return await measure(this.options.link, kit, channel, seconds);
  }

  litres(kit: string, action: 'start' | 'stop'): { litres: number; lpm: number; seconds: number } {
    this.known(kit);
    const done = this.counting?.stop();
    const before = this.counting;
    this.counting = null;
    if (action === 'start') {
      this.counting = { kit, stop: countLitres(this.options.link, kit) };
      return { litres: 0, lpm: 0, seconds: 0 };
    }
    if (!done || before?.kit !== kit || done.readings === 0)
      throw new Problem('kit-channel-silent', { channel: 'flow' });
    return {
      litres: done.litres,
      seconds: done.seconds,
      lpm: done.seconds > 0 ? (60 * done.litres) / done.seconds : 0,
    };
  }

  private certificate(work: BenchWork): Certificate {
    const { store, link } = this.options;
    const { curve: kind, ...rest } = work;
    const hello = link.watch.kits.get(work.kit)?.hello ?? null;
    return certify(store, { ...rest, kind, hello, nowMs: link.clock.wallMs() });
  }

  fit(work: BenchWork): BenchCertificate {
    return shown(this.certificate({ ...work, who: work.who.trim() === '' ? '-' : work.who }));
  }

  keep(work: BenchWork): BenchCertificate {
    const certificate = this.certificate(work);
    this.options.store.addCertificate(keptForm(certificate));
    this.options.recalibrated();
    return shown(certificate);
  }

  check(kit: string, seconds: number): void {
    this.known(kit);
    if (this.running) throw new Problem('kit-busy');
    this.result = null;
    const tell = (text: string, leftS: number): void => {
      this.running = { kit, text, leftS };
    };
    tell('Listening', seconds);
    void checkKit(this.options.link, { kit, seconds, tell })
      .then((result) => {
        this.result = result;
      })
      .catch(this.options.fault)
      .finally(() => {
        this.running = null;
      });
  }
}

const quiet = new Set(['bytes', 'lines', 'packs']);

function counted(counters: LinkCounters): BenchView['counters'] {
  const texts: Readonly<Record<string, string>> = counterSentences;
  return Object.entries(counters)
    .filter(([code, count]) => count > 0 && !quiet.has(code))
    .map(([code, count]) => ({ code, text: texts[code] ?? code, count }));
}

/** A certificate as the page draws it. */
function shown(c: Certificate): BenchCertificate {
  const raws = c.standards.map((s) => s.raw);
  const [low, high] = [Math.min(...raws), Math.max(...raws)];
  const margin = high > low ? 0.06 * (high - low) : Math.max(0.5, 0.2 * Math.abs(low));
  const curve = Array.from({ length: 41 }, (_, i) => {
    const raw = low - margin + ((high - low + 2 * margin) * i) / 40;
    const { value, u } = calibrate(c, raw);
    return { raw, value, u };
  });
  return {
    id: c.id,
    text: certificateText(c),
    unit: c.unit,
    points: c.standards.map((s, i) => ({ raw: s.raw, value: s.value, u: s.u, residual: c.residuals[i] ?? 0 })),
    curve,
    uLow: calibrate(c, low).u,
    uHigh: calibrate(c, high).u,
    blankSd: c.blankSd,
    limitOfDetection: limitOfDetection(c),
    made: c.madeAt.slice(0, 10),
    due: c.dueAt.slice(0, 10),
    who: c.who,
  };
}
