import { channelByName, type Channel, type SampleKey } from '../../src/core/quantity/channels.ts';
import { believed } from './decode.ts';
import { lineText } from './line-text.ts';
import type { MappedChannel, Mapping } from './mapping.ts';
import { unitStep, type UnitStep } from './mapping-units.ts';
import type { Decoded, Hello, Pack, Reject } from './pack.ts';

type Source = Pick<MappedChannel, 'column' | 'path' | 'topic'>;

interface Mapped {
  readonly channel: Channel;
  readonly source: MappedChannel;
  readonly unit: UnitStep;
}

/** One line or message, opened: gives what stands at a place; undefined when there is nothing. */
type Opened = (source: Source) => unknown;

/**
 * A kit that does not speak our wire, read through its mapping: lines or messages in, packs out. The identity is made
 * here, because such a kit has none: `boot` is given (new at each start of the bridge), `seq` counts, `up` is the time
 * of arrival. So a pack that is lost on the way, or comes twice, cannot be told.
 */
export class MappedKit {
  readonly #mapping: Mapping;
  readonly #boot: number;
  readonly #mapped: readonly Mapped[];
  readonly #lead: Channel | undefined;
  #seq = 0;
  #zeroS: number | null = null;
  #pressed = false;
  /** Values of one round that wait for the leading one. */
  #round: { values: Partial<Record<SampleKey, number>>; rejects: Reject[]; atS: number } | null = null;

  constructor(mapping: Mapping, boot: number) {
    this.#mapping = mapping;
    this.#boot = boot;
    this.#mapped = Object.entries(mapping.channels).flatMap(([name, source]) => {
      const channel = channelByName(name);
      const unit = channel ? unitStep(channel, source.unit) : null;
      return channel && unit ? [{ channel, source, unit }] : [];
    });
    this.#lead = (this.#mapped.find((m) => m.channel.name === 'turbidity') ?? this.#mapped[0])?.channel;
  }

  /** One line without its end; null for an empty one and for the heading of a table. */
  line(bytes: Uint8Array, atS: number): Decoded | null {
    const opened = this.#open(bytes);
    if (opened === null || 'reject' in opened) return opened && { ok: false, reject: opened.reject };
    const { values, rejects, found } = this.#take(this.#mapped, opened.at);
    const { pass } = this.#mapping;
    const is = pass !== undefined && isSame(opened.at(pass), pass.is);
    const press = is && !this.#pressed;
    this.#pressed = is;
    if (found === 0 && !press) return { ok: false, reject: this.#nothing(bytes) };
    return this.#pack(values, rejects, press, atS);
  }

  /** One message; values of several topics that belong together make one pack, so there can be none, one or two. */
  message(topic: string, payload: Uint8Array, atS: number): Decoded[] {
    const { pass } = this.#mapping;
    const mine = this.#mapped.filter((m) => m.source.topic === topic);
    if (mine.length === 0 && pass?.topic !== topic) return [];
    const opened = this.#open(payload);
    if (opened === null) return [];
    if ('reject' in opened) return [{ ok: false, reject: opened.reject }];
    const { values, rejects, found } = this.#take(mine, opened.at);
    const is = pass?.topic === topic && isSame(opened.at(pass), pass.is);
    // On a topic of its own each message is a press; among other values the change to it is.
    const press = is && (mine.length === 0 || !this.#pressed);
    if (pass?.topic === topic) this.#pressed = is;
    if (found === 0 && !press && mine.length > 0) return [{ ok: false, reject: this.#nothing(payload) }];
    const packs = this.#joins(values, atS) ? [] : this.#endRound();
    this.#round = {
      values: { ...this.#round?.values, ...values },
      rejects: [...(this.#round?.rejects ?? []), ...rejects],
      atS,
    };
    const isLed = mine.some((m) => m.channel === this.#lead);
    if (press || isLed) packs.push(...this.#endRound(press));
    return packs;
  }

  /** Do these values belong to the round that waits? Not when one of them came already, nor when it was long ago. */
  #joins(values: Partial<Record<SampleKey, number>>, atS: number): boolean {
    const round = this.#round;
    if (!round) return true;
    return (
      atS - round.atS <= this.#mapping.hold_s && !Object.keys(values).some((key) => Object.hasOwn(round.values, key))
    );
  }

  #endRound(press = false): Decoded[] {
    const round = this.#round;
    this.#round = null;
    if (!round || (Object.keys(round.values).length === 0 && round.rejects.length === 0 && !press)) return [];
    return [this.#pack(round.values, round.rejects, press, round.atS)];
  }

  #open(bytes: Uint8Array): { readonly at: Opened } | { readonly reject: Reject } | null {
    const text = lineText(bytes);
    if (text === null) return { reject: { code: 'wire-not-text', params: { bytes: bytes.length } } };
    if (text.trim() === '') return null;
    switch (this.#mapping.form) {
      case 'value':
        return { at: () => text };
      case 'json':
        return openJson(text);
      case 'csv':
        return this.#openCsv(text);
    }
  }

  /** A row that is too short was cut, and then its last number may be cut too: it is not used at all. */
  #openCsv(text: string): { readonly at: Opened } | { readonly reject: Reject } | null {
    const { separator, columns } = this.#mapping;
    const cells = (separator.trim() === '' ? text.trim().split(/\s+/) : text.split(separator)).map(bare);
    if (columns && cells.join('\n') === columns.join('\n')) return null;
    const index = ({ column }: Source): number =>
      typeof column === 'number' ? column - 1 : (columns?.indexOf(column ?? '') ?? -1);
    const least = columns?.length ?? Math.max(...this.#mapped.map((m) => index(m.source) + 1));
    if (cells.length < least || (columns && cells.length > least))
      return {
        reject: { code: 'mapping-columns', params: { found: cells.length, expected: least, start: text.slice(0, 40) } },
      };
    return { at: (source) => cells[index(source)] };
  }

  #take(
    mapped: readonly Mapped[],
    at: Opened,
  ): { values: Partial<Record<SampleKey, number>>; rejects: Reject[]; found: number } {
    const values: Partial<Record<SampleKey, number>> = {};
    const rejects: Reject[] = [];
    let found = 0;
    for (const { channel, source, unit } of mapped) {
      const raw = numberOf(at(source), this.#mapping.decimal);
      if (raw === null) continue;
      found++;
      if (typeof raw === 'string') {
        rejects.push({ code: 'mapping-number', params: { channel: channel.name, found: raw } });
        continue;
      }
      const value = believed(channel, inUnit(raw * source.factor + source.offset, unit));
      if (typeof value === 'number') values[channel.key] = value;
      else rejects.push(value);
    }
    return { values, rejects, found };
  }

  #pack(values: Pack['values'], rejects: readonly Reject[], pass: boolean, atS: number): Decoded {
    this.#zeroS ??= atS;
    const seq = this.#seq++;
    const pack: Pack = {
      kit: this.#mapping.kit,
      boot: this.#boot,
      seq,
      upS: Math.round((atS - this.#zeroS) * 1000) / 1000,
      late: false,
      pass,
      values,
      raw: {},
      hello: seq === 0 ? this.#hello() : null,
      refused: null,
      rejects,
    };
    return { ok: true, pack };
  }

  /** What the mapping says of the sensors, told with the first pack as a kit of our own would. */
  #hello(): Hello {
    const ranges = this.#mapped.map(({ channel, source, unit }) => [
      channel.name,
      {
        ...(source.lo !== undefined && { lo: inUnit(source.lo, unit) }),
        ...(source.hi !== undefined && { hi: inUnit(source.hi, unit) }),
        ...(source.step !== undefined && { step: source.step * unit.factor }),
      },
    ]);
    return { firmware: 'by mapping', rateHz: null, channels: Object.fromEntries(ranges) };
  }

  #nothing(bytes: Uint8Array): Reject {
    const start = (lineText(bytes) ?? '').slice(0, 40);
    return { code: 'mapping-nothing', params: { start, channels: this.#mapped.map((m) => m.channel.name).join(', ') } };
  }
}

function inUnit(value: number, { factor, offset }: UnitStep): number {
  return Number((value * factor + offset).toPrecision(12));
}

function bare(cell: string): string {
  const text = cell.trim();
  return text.length > 1 && text.startsWith('"') && text.endsWith('"') ? text.slice(1, -1) : text;
}

const plainNumber = /^[-+]?(\d+\.?\d*|\.\d+)(e[-+]?\d+)?$/i;

/** A number; null where nothing stands; the text where something else does. */
function numberOf(found: unknown, decimal: string): number | string | null {
  if (found === undefined || found === null || found === '') return null;
  if (typeof found === 'number') return found;
  if (typeof found !== 'string') return JSON.stringify(found).slice(0, 40);
  const text = found.trim();
  const plain = decimal === ',' ? text.replace(',', '.') : text;
  return plainNumber.test(plain) ? Number(plain) : text.slice(0, 40);
}

function isSame(found: unknown, wanted: string | number | boolean): boolean {
  if (typeof found === typeof wanted) return typeof found === 'string' ? found.trim() === wanted : found === wanted;
  if (typeof found !== 'string') return false;
  return typeof wanted === 'number' ? Number(found) === wanted && found.trim() !== '' : found.trim() === String(wanted);
}

function openJson(text: string): { readonly at: Opened } | { readonly reject: Reject } {
  let json: unknown;
  try {
    json = JSON.parse(text);
  } catch {
    return { reject: { code: 'mapping-json-line', params: { start: text.slice(0, 40), bytes: text.length } } };
  }
  return { at: ({ path }) => pointed(json, path ?? '') };
}

/** What a JSON pointer points to (RFC 6901); undefined when there is nothing. */
function pointed(json: unknown, pointer: string): unknown {
  let at = json;
  for (const part of pointer.split('/').slice(1)) {
    const key = part.replaceAll('~1', '/').replaceAll('~0', '~');
    if (typeof at !== 'object' || at === null || !Object.hasOwn(at, key)) return undefined;
    at = Reflect.get(at, key);
  }
  return at;
}
