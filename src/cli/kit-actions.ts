import { listPorts } from '../../firmware-bridge/transport/ports.ts';
import type { KitCommand } from '../../firmware-bridge/wire/command.ts';
import { counterSentences } from '../../firmware-bridge/wire/link-counters.ts';
import type { Pack } from '../../firmware-bridge/wire/pack.ts';
import { say } from '../core/message/message.ts';
import { Problem } from '../core/message/problem.ts';
import { channelByName, channels } from '../core/quantity/channels.ts';
import { Calibration, readCertificates } from '../run/calibration.ts';
import { certificateText } from '../run/kit-certify.ts';
import { checkKit } from '../run/kit-check-run.ts';
import type { CheckResult } from '../run/kit-check-points.ts';
import { type OpenKitLink, openKitLink } from '../run/kit-open.ts';
import { type Input, textOption, WrongUse } from './command.ts';
import { withStore } from './with-store.ts';

const login = () => ({ user: process.env['LIMPID_MQTT_USER'], password: process.env['LIMPID_MQTT_PASSWORD'] });

/** Opens the place, finds the kit, does the work and closes, whatever happens. */
export async function withKit<T>(
  { options }: Input,
  place: string,
  work: (open: OpenKitLink, kit: string) => Promise<T>,
): Promise<T> {
  const open = await openKitLink(place, Number(textOption(options, 'baud') ?? '115200'), login());
  try {
    return await work(open, await open.link.kit(textOption(options, 'kit') ?? null));
  } catch (error) {
    // "No kit was heard" is less than what the link itself knows: wrong speed, no permission, busy.
    const problem = open.link.problem();
    if (error instanceof Problem && error.code === 'kit-none' && problem !== null)
      throw new Problem('kit-calibration', { why: problem }, { cause: error });
    throw error;
  } finally {
    await open.close();
  }
}

/** What is on each port (and broker): a kit with its firmware, or why none is heard. */
export async function list({ out }: Input, seconds: number, baudRate: number, broker: string): Promise<number> {
  const ports = (await listPorts()).map((p) => p.byId ?? p.path);
  const places = broker === '' ? ports : [broker];
  if (places.length === 0) {
    const none =
      'No serial port is there. Plug the kit in, try another cable (some carry power only), then look again.';
    out.result({ places: [] }, none);
    return 1;
  }
  out.say(`Listening for ${seconds} s on ${places.join(', ')} ...`);
  const found = await Promise.all(
    places.map(async (place) => {
      const open = await openKitLink(place, baudRate, login());
      const { link } = open;
      await link.sleep(seconds);
      const kits = [...link.watch.kits.values()].map(({ kit, hello, packs }) => ({
        kit,
        firmware: hello?.firmware ?? null,
        packs,
      }));
      const problem =
        kits.length > 0 ? null : (link.problem() ?? say({ code: 'kit-none', params: link.noKit(seconds) }));
      await open.close();
      return { place: link.source, kits, problem };
    }),
  );
  const lines = found.flatMap(({ place, kits, problem }) => [
    place,
    ...kits.map(
      (k) => `  ${k.kit}${k.firmware === null ? '' : `, firmware ${k.firmware}`}, ${k.packs} packs in ${seconds} s`,
    ),
    ...(problem === null ? [] : [`  ${problem}`]),
  ]);
  out.result({ places: found }, lines.join('\n'));
  return found.some((f) => f.kits.length > 0) ? 0 : 1;
}

/** Certificates that this data folder holds; none when there is no folder yet. */
async function calibrationOf(input: Input): Promise<Calibration> {
  const bodies: string[] = [];
  try {
    await withStore(input.options, (store) => {
      bodies.push(...store.certificates());
      return 0;
    });
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
    if (error.code === 'store-in-use')
      input.out.say(
        'A running Limpid holds the certificates: calibrated values are not shown here, but on its bench page.',
      );
    else if (error.code !== 'run.no-data') throw error;
  }
  return new Calibration({
    certificates: (kit) => bodies.filter((body) => kit === undefined || body.includes(JSON.stringify(kit))),
  });
}

/** Raw and calibrated values, live. */
export async function watch(input: Input, place: string): Promise<number> {
  const { out, options, stopped } = input;
  const calibration = await calibrationOf(input);
  return await withKit(input, place, async ({ link }, kit) => {
    const once = options['once'] === true;
    const shown = { atS: Number.NEGATIVE_INFINITY };
    const show = (pack: Pack): void => {
      const row = rowOf(pack, calibration);
      if (once || out.isJson) out.result({ kit, up_s: pack.upS, channels: row }, textOf(pack, row));
      else out.result(null, textOf(pack, row));
    };
    if (once) await link.sleep(1.2);
    if (once) {
      const heard = link.watch.kits.get(kit);
      if (heard) show(merged(heard.lastPack, heard.values, heard.raw));
      return 0;
    }
    out.say(`${kit}. Ctrl-C stops.`);
    const stop = link.watch.listen((decoded, atS) => {
      if (!decoded.ok || decoded.pack.kit !== kit || atS - shown.atS < 0.5) return;
      if (decoded.pack.hello && Object.keys(decoded.pack.values).length === 0) return;
      shown.atS = atS;
      show(decoded.pack);
    });
    await stopped();
    stop();
    for (const [code, count] of Object.entries(link.counters()))
      if (count > 0 && isCounter(code)) out.say(`${count}  ${counterSentences[code]}`);
    return 0;
  });
}

const isCounter = (code: string): code is keyof typeof counterSentences => code in counterSentences;

/** A hello carries no values: the newest of each stand in. */
function merged(
  pack: Pack,
  values: ReadonlyMap<string, { value: number }>,
  raw: ReadonlyMap<string, { value: number }>,
): Pack {
  const all: Record<string, number> = {};
  for (const { name, key } of channels) {
    const heard = values.get(name);
    if (heard) all[key] = heard.value;
  }
  return { ...pack, values: all, raw: Object.fromEntries([...raw].map(([name, { value }]) => [name, value])) };
}

interface Shown {
  readonly channel: string;
  readonly unit: string;
  readonly raw: number | null;
  readonly kit_value: number;
  readonly value: number;
  readonly certificate: string | null;
}

function rowOf(pack: Pack, calibration: Calibration): Shown[] {
  const values = calibration.values(pack);
  const certificates = calibration.of(pack.kit);
  return channels.flatMap(({ name, key, unit }) => {
    const own = pack.values[key];
    if (own === undefined) return [];
    const certificate = certificates.get(name)?.id ?? null;
    return [
      { channel: name, unit, raw: pack.raw[name] ?? null, kit_value: own, value: values[key] ?? own, certificate },
    ];
  });
}

function textOf(pack: Pack, row: readonly Shown[]): string {
  const parts = row.map(({ channel, unit, raw, kit_value, value, certificate }) => {
    const from = [raw === null ? '' : `raw ${raw}`, certificate === null ? '' : `kit ${kit_value}`]
      .filter(Boolean)
      .join(', ');
    return `${channel} ${value} ${unit}${from ? ` (${from})` : ''}`;
  });
  return `${pack.upS.toFixed(1).padStart(8)} s  ${parts.join('  ')}`;
}

/** A command, with its answer or a plain time-out. */
export async function command(input: Input, place: string, asked: KitCommand): Promise<number> {
  const { out } = input;
  return await withKit(input, place, async ({ link }, kit) => {
    const end = await link.ask(kit, asked);
    const problem = end.problem ? say(end.problem) : null;
    const { hello } = end;
    const ranges = Object.entries(hello?.channels ?? {}).map(([name, range]) => {
      const unit = channelByName(name)?.unit ?? '';
      const told = Object.entries(range).map(([edge, value]) => `${edge} ${value} ${unit}`);
      return `  ${name}: ${told.join(', ')}`;
    });
    const answer = [`${kit} answered: firmware ${hello?.firmware}, ${hello?.rateHz ?? '?'} packs a second.`, ...ranges];
    out.result({ kit, command: asked, hello, problem: end.problem }, problem ?? answer.join('\n'));
    return problem === null ? 0 : 1;
  });
}

export async function rate(input: Input, place: string, text: string): Promise<number> {
  const hz = Number(text);
  if (text === '' || !Number.isFinite(hz)) throw new WrongUse(`How many packs a second? limpid kit rate ${place} 10`);
  return await command(input, place, { kind: 'rate', hz });
}

export async function zero(input: Input, place: string, text: string): Promise<number> {
  const channel = channelByName(text);
  if (!channel) throw new WrongUse(`Zero of what? One of: ${channels.map((c) => c.name).join(', ')}.`);
  return await command(input, place, { kind: 'zero', channel: channel.name });
}

/** "Check my kit". Exit 0 when nothing is to fix. */
export async function check(input: Input, place: string, seconds: number): Promise<number> {
  const { out, options } = input;
  return await withKit(input, place, async ({ link, isBroker, reset }, kit) => {
    out.say(`Checking ${kit} for ${seconds} s against docs/wire.md ...`);
    const result = await checkKit(link, {
      kit,
      seconds,
      isBroker,
      tell: (text, leftS) => out.say(`${text} (${Math.ceil(leftS)} s to go) ...`),
      reset: options['reset'] === true && reset ? reset : undefined,
    });
    out.result(result, checkText(result));
    return result.verdict === 'ok' ? 0 : 1;
  });
}

export function checkText(result: CheckResult): string {
  const words = { ok: 'ok      ', fix: 'FIX     ', 'not-seen': 'not seen' };
  const lines = result.points.flatMap((p) => [
    `${words[p.state]}  ${p.title}: ${p.text}`,
    ...(p.next ? [`            ${p.next}`] : []),
  ]);
  const fixes = result.points.filter((p) => p.state === 'fix').length;
  return [...lines, '', fixes === 0 ? 'Nothing to fix.' : `${fixes} to fix.`].join('\n');
}

export async function certificates(input: Input): Promise<number> {
  return await withStore(input.options, (store) => {
    const all = readCertificates(store);
    out(input, all.map(certificateText), all);
    return 0;
  });
}

function out(input: Input, texts: readonly string[], all: unknown): void {
  input.out.result({ certificates: all }, texts.length > 0 ? texts.join('\n\n') : 'No kit was calibrated yet.');
}
