import { channelByName, type Channel, type SampleKey } from '../../src/core/quantity/channels.ts';
import { roundToChannel } from '../../src/core/quantity/sample.ts';
import { channelFactor, HelloReader } from './hello.ts';
import { kitPattern } from './kit-name.ts';
import { openLine } from './open-line.ts';
import type { Decoded, Pack, Reject } from './pack.ts';
import { checkPack, parsePack, type ParsedPack } from './parse-pack.ts';
import { cborToJson } from './senml-cbor.ts';
import { absoluteTimeFrom, SenmlBase, unknownMust, type ResolvedRecord } from './senml.ts';

/** A line as it stood on the wire, without its end -> a pack, or why not. Never throws, whatever the bytes. */
export function decodeLine(line: Uint8Array): Decoded {
  const opened = openLine(line);
  return 'reject' in opened ? { ok: false, reject: opened.reject } : decodePack(opened.body);
}

/** The same for a line whose check sum was taken off. */
export function decodePack(body: Uint8Array): Decoded {
  return decodeRecords(parsePack(body));
}

/** A pack in CBOR (RFC 8428 section 6): from its records on, the same way as one in JSON. */
export function decodeCbor(body: Uint8Array): Decoded {
  const read = cborToJson(body);
  return decodeRecords('reject' in read ? read : checkPack(read.json));
}

function decodeRecords(parsed: ParsedPack | { readonly reject: Reject }): Decoded {
  if ('reject' in parsed) return { ok: false, reject: parsed.reject };
  const base = new SenmlBase();
  const builder = new PackBuilder();
  for (const [index, record] of parsed.records.entries()) {
    const refusal = unknownMust(record) ?? base.take(record);
    if (refusal) return { ok: false, reject: refusal };
    const bad = parsed.bad.get(index);
    if (bad) {
      builder.rejects.push(bad);
      continue;
    }
    const resolved = base.resolve(record);
    if ('code' in resolved) builder.rejects.push(resolved);
    else {
      const fatal = builder.add(resolved);
      if (fatal) return { ok: false, reject: fatal };
    }
  }
  return builder.finish();
}

/** Gathers the records of one pack. */
class PackBuilder {
  readonly rejects: Reject[] = [];
  #kit = '';
  #t: number | null = null;
  #boot: number | null = null;
  #seq: number | null = null;
  #upS: number | null = null;
  #late = false;
  #pass = false;
  #refused: string | null = null;
  readonly #values: Partial<Record<SampleKey, number>> = {};
  readonly #raw: Record<string, number> = {};
  readonly #hello = new HelloReader();

  /** A problem returned here refuses the whole pack: it can no longer be told whose, or of what instant, it is. */
  add(record: ResolvedRecord): Reject | null {
    const bar = record.n.lastIndexOf('_');
    const kit = record.n.slice(0, Math.max(bar, 0));
    if (this.#t === null) {
      if (!kitPattern.test(kit)) return { code: 'wire-kit', params: { found: record.n.slice(0, 80) } };
      this.#kit = kit;
      this.#t = record.t;
    }
    if (kit !== this.#kit) return { code: 'wire-kits', params: { first: this.#kit, found: kit.slice(0, 80) } };
    if (record.t !== this.#t) return { code: 'wire-times', params: { first: this.#t, found: record.t } };
    return this.#take(record.n.slice(bar + 1), record);
  }

  #take(name: string, record: ResolvedRecord): Reject | null {
    const channel = channelByName(name);
    if (channel) {
      this.#measured(channel, record);
      return null;
    }
    switch (name) {
      case 'boot':
        this.#boot = wholeNumber(record, 'count');
        return this.#boot === null ? identity(name, record) : null;
      case 'seq':
        this.#seq = wholeNumber(record, 'count');
        return this.#seq === null ? identity(name, record) : null;
      case 'up':
        this.#upS = seconds(record);
        return this.#upS === null ? identity(name, record) : null;
      case 'late':
      case 'pass':
        if (record.vb === undefined) this.#type(name, 'vb, true or false');
        else if (name === 'late') this.#late = record.vb;
        else this.#pass = record.vb;
        return null;
      case 'refused':
        if (record.vs === undefined) this.#type(name, 'vs, a text');
        else this.#refused = record.vs;
        return null;
      default:
        if (name.startsWith('raw-')) this.#rawValue(name, record);
        else if (!this.#hello.take(name, record, this.rejects))
          this.rejects.push({ code: 'wire-channel', params: { channel: name } });
        return null;
    }
  }

  #type(name: string, expected: string): void {
    this.rejects.push({ code: 'wire-type', params: { channel: name, expected } });
  }

  #measured(channel: Channel, record: ResolvedRecord): void {
    const { name, key } = channel;
    const factor = channelFactor(channel, name, record.u);
    if (record.v === undefined) this.rejects.push({ code: 'wire-number', params: { channel: name } });
    else if (typeof factor !== 'number') this.rejects.push(factor);
    else if (this.#values[key] !== undefined) this.rejects.push({ code: 'wire-doubled', params: { channel: name } });
    else {
      const value = believed(channel, record.v * factor);
      if (typeof value === 'number') this.#values[key] = value;
      else this.rejects.push(value);
    }
  }

  #rawValue(name: string, record: ResolvedRecord): void {
    const channel = name.slice(4);
    if (!channelByName(channel)) this.rejects.push({ code: 'wire-channel', params: { channel: name } });
    else if (record.v === undefined) this.rejects.push({ code: 'wire-number', params: { channel: name } });
    else if (record.u !== 'V' && record.u !== 'count')
      this.rejects.push({
        code: 'wire-unit',
        params: { channel: name, found: record.u ?? 'none', expected: 'V or count' },
      });
    else this.#raw[channel] = record.v;
  }

  finish(): Decoded {
    const { rejects } = this;
    const hello = this.#hello.finish(rejects);
    if (this.#boot === null || this.#seq === null || this.#upS === null) {
      const missing = [this.#boot === null && 'boot', this.#seq === null && 'seq', this.#upS === null && 'up'];
      const params = { missing: missing.filter(Boolean).join(', '), kit: this.#kit };
      return { ok: false, reject: { code: 'wire-no-identity', params } };
    }
    const pack: Pack = {
      kit: this.#kit,
      boot: this.#boot,
      seq: this.#seq,
      upS: this.#upS,
      late: this.#late,
      pass: this.#pass,
      values: this.#values,
      raw: this.#raw,
      hello,
      refused: this.#refused,
      rejects,
      ...(this.#t !== null && this.#t >= absoluteTimeFrom && { kitClockS: this.#t }),
    };
    return { ok: true, pack };
  }
}

function wholeNumber(record: ResolvedRecord, unit: string): number | null {
  const { u, v } = record;
  return v !== undefined && Number.isSafeInteger(v) && v >= 0 && (u === null || u === unit) ? v : null;
}

/** Thirty years: longer has no kit run. */
const longestUpS = 1e9;

function seconds(record: ResolvedRecord): number | null {
  const { u, v } = record;
  return v !== undefined && v >= 0 && v <= longestUpS && (u === null || u === 's') ? v : null;
}

function identity(name: string, record: ResolvedRecord): Reject {
  const found = `${record.v ?? record.vs ?? record.vb ?? 'nothing'} ${record.u ?? ''}`.trim().slice(0, 40);
  return { code: 'wire-identity', params: { channel: name, found } };
}

/** A value in the channel's own unit, rounded to its decimals; or why no heating system can give it. */
export function believed(channel: Channel, found: number): number | Reject {
  const value = roundToChannel(found, channel.decimals);
  if (value >= channel.min && value <= channel.max) return value;
  const { name, unit, min, max } = channel;
  if (name === 'flow' && value < 0)
    return { code: 'wire-negative-flow', params: { channel: name, found: value, unit } };
  return { code: 'wire-absurd', params: { channel: name, found: value, unit, min, max } };
}
