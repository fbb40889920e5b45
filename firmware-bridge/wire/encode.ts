import { channelByName, channels, type Channel, type SampleKey } from '../../src/core/quantity/channels.ts';
import { crc16, crcDigits } from './crc16.ts';
import { textBytes } from './line-text.ts';
import type { Hello } from './pack.ts';

/** What one pack is to carry; the values in our units. What is left out is not sent. */
export interface PackToSend {
  /** Kit URN without the `_`, e.g. `urn:dev:mac:0024befffe804ff1`. */
  readonly kit: string;
  readonly boot: number;
  readonly seq: number;
  readonly upS: number;
  readonly late?: boolean;
  readonly pass?: boolean;
  /** `null`, like a missing key, is a failed sensor: its record is left out. */
  readonly values?: Readonly<Partial<Record<SampleKey, number | null>>>;
  readonly raw?: Readonly<Record<string, number>>;
  readonly hello?: Hello | null;
  readonly refused?: string | null;
  readonly kitClockS?: number;
}

type Fields = Record<string, string | number | boolean>;

/** Shortest decimal that is exact for every channel's resolution: 12 digits, where the finest needs 9. */
function inSenmlUnit(value: number, factor: number): number {
  return Number((value / factor).toPrecision(12));
}

function senmlUnit(channel: Channel): [unit: string, factor: number] {
  return Object.entries(channel.senmlUnits)[0] ?? ['', 1];
}

/** One pack as JSON text, without check sum and line end. The exact inverse of `decodeLine`. */
export function encodePack(pack: PackToSend): string {
  const records: Fields[] = [
    { bn: `${pack.kit}_`, n: 'boot', u: 'count', v: pack.boot },
    { n: 'seq', u: 'count', v: pack.seq },
    { n: 'up', u: 's', v: pack.upS },
  ];
  if (pack.kitClockS !== undefined) records[0] = { bt: pack.kitClockS, ...records[0] };
  if (pack.late) records.push({ n: 'late', vb: true });
  if (pack.pass) records.push({ n: 'pass', vb: true });
  for (const channel of channels) {
    const value = pack.values?.[channel.key];
    if (value === undefined || value === null || !Number.isFinite(value)) continue;
    const [u, factor] = senmlUnit(channel);
    records.push({ n: channel.name, u, v: inSenmlUnit(value, factor) });
  }
  for (const [name, v] of Object.entries(pack.raw ?? {})) records.push({ n: `raw-${name}`, u: 'count', v });
  if (pack.hello) records.push(...helloRecords(pack.hello));
  if (pack.refused !== undefined && pack.refused !== null) records.push({ n: 'refused', vs: pack.refused });
  return JSON.stringify(records);
}

function helloRecords(hello: Hello): Fields[] {
  const records: Fields[] = [{ n: 'hello', vs: hello.firmware }];
  if (hello.rateHz !== null) records.push({ n: 'rate', u: '1/s', v: hello.rateHz });
  for (const [name, range] of Object.entries(hello.channels)) {
    const channel = channelByName(name);
    if (!channel) continue;
    const [u, factor] = senmlUnit(channel);
    if (range.lo !== undefined) records.push({ n: `lo-${name}`, u, v: inSenmlUnit(range.lo, factor) });
    if (range.hi !== undefined) records.push({ n: `hi-${name}`, u, v: inSenmlUnit(range.hi, factor) });
    if (range.step !== undefined) records.push({ n: `step-${name}`, u, v: inSenmlUnit(range.step, factor) });
  }
  return records;
}

export interface LineForm {
  /** Append `*` and the check sum; on unless told otherwise. */
  readonly crc?: boolean;
  readonly end?: '\n' | '\r\n';
}

/** A pack as it goes over the wire: JSON, check sum, line end. */
export function encodeLine(pack: PackToSend, form: LineForm = {}): Uint8Array {
  return textLine(encodePack(pack), form);
}

/** Any text as a line of the wire, with its check sum: for packs written by hand in tests and docs. */
export function textLine(json: string, form: LineForm = {}): Uint8Array {
  const end = form.end ?? '\n';
  const bytes = textBytes(json);
  const tail = form.crc === false ? end : `*${crcDigits(crc16(bytes))}${end}`;
  const line = new Uint8Array(bytes.length + tail.length);
  line.set(bytes);
  for (let i = 0; i < tail.length; i++) line[bytes.length + i] = tail.charCodeAt(i);
  return line;
}
