/**
 * Cost of reading the wire, as JSON on stdout: lines a second through `WireReader` by the time of one core, beside
 * `JSON.parse` of the same lines alone, which no reader of this wire can do without; and packs a second through `Aligner`.
 * Run: npx tsx bench/wire.ts
 */
import os from 'node:os';
import { Aligner } from '../firmware-bridge/clock/align.ts';
import { encodeLine, encodePack } from '../firmware-bridge/wire/encode.ts';
import { WireReader } from '../firmware-bridge/wire/wire-reader.ts';

const lines = 100_000;
const pack = (seq: number) => ({
  kit: 'urn:dev:mac:0024befffe804ff1',
  boot: 1,
  seq,
  upS: seq / 10,
  values: {
    turbidityNtu: 41.23,
    flowLpm: 12.1,
    pressureBar: 1.42,
    supplyC: 55.1,
    returnC: 48.2,
    conductivityUsCm: 812.1,
  },
});

/** Median over five rounds of how often a second `count` things are done, by user time of this process. */
function perSecond(count: number, work: () => void): number {
  work();
  const rounds = Array.from({ length: 5 }, () => {
    const before = process.cpuUsage();
    work();
    return (count / process.cpuUsage(before).user) * 1e6;
  });
  return Math.round(rounds.sort((a, b) => a - b)[2] ?? 0);
}

const bytes = Buffer.concat(Array.from({ length: lines }, (_, seq) => encodeLine(pack(seq))));
const texts = Array.from({ length: lines }, (_, seq) => encodePack(pack(seq)));

const read = perSecond(lines, () => {
  const reader = new WireReader();
  for (let at = 0; at < bytes.length; at += 4096) reader.push(bytes.subarray(at, at + 4096));
  if (reader.counters.packs !== lines) throw new Error('packs were lost');
});
const parse = perSecond(lines, () => {
  for (const text of texts) JSON.parse(text);
});
const align = perSecond(lines, () => {
  const aligner = new Aligner();
  for (let i = 0; i < lines; i++) aligner.align(1, i / 10, 5 + (i / 10) * (1 - 2e-4) + ((i * 0.618) % 1) * 0.01);
});

const machine = { cpu: os.cpus()[0]?.model, cores: os.cpus().length, load: os.loadavg()[0], node: process.version };
const result = {
  bytesPerLine: Math.round(bytes.length / lines),
  linesPerSecond: read,
  jsonParsePerSecond: parse,
  shareOfJsonParse: Number((read / parse).toFixed(2)),
  alignedPerSecond: align,
  machine,
};
process.stdout.write(`${JSON.stringify(result, null, 2)}\n`);
