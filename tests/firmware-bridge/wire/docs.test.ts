import { spawnSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { crc16, crcDigits } from '../../../firmware-bridge/wire/crc16.ts';
import { decodeLine } from '../../../firmware-bridge/wire/decode.ts';
import { encodeLine } from '../../../firmware-bridge/wire/encode.ts';
import { maxPackBytes } from '../../../firmware-bridge/wire/frame.ts';
import { counterSentences } from '../../../firmware-bridge/wire/link-counters.ts';
import type { Pack } from '../../../firmware-bridge/wire/pack.ts';
import { WireReader } from '../../../firmware-bridge/wire/wire-reader.ts';
import { channels } from '../../../src/core/quantity/channels.ts';

const golden = new URL('../../../firmware-bridge/wire/golden/', import.meta.url);
const doc = readFileSync(new URL('../../../docs/wire.md', import.meta.url), 'utf8');
const names = readdirSync(golden).flatMap((name) => (name.endsWith('.senml') ? [name.slice(0, -6)] : []));
const lineOf = (name: string) => readFileSync(new URL(`${name}.senml`, golden));
const has = (program: string) => spawnSync(program, ['--version']).status === 0;

function block(language: string): string {
  return new RegExp(`\`\`\`${language}\\n([^]*?)\`\`\``).exec(doc)?.[1] ?? '';
}

function packsOf(output: Uint8Array): Pack[] {
  const reader = new WireReader();
  const packs = reader.push(output).flatMap((d) => (d.ok ? [d.pack] : []));
  expect(reader.counters).toMatchObject({ badLines: 0, firstPartial: 0, withoutCrc: 0, recordsRejected: 0 });
  return packs;
}

test.each(names)('golden line %s gives what stands beside it, and the document quotes it', (name) => {
  const line = lineOf(name);
  expect(line.at(-1)).toBe(0x0a);
  const expected: unknown = JSON.parse(readFileSync(new URL(`${name}.expected.json`, golden), 'utf8'));
  expect(decodeLine(line.subarray(0, -1))).toEqual(expected);
  expect(doc).toContain(`\n${line.toString('utf8')}`);
});

test.each(['whole', 'hello', 'pass', 'late', 'refused'])('golden line %s is what our own encoder writes', (name) => {
  const decoded = decodeLine(lineOf(name).subarray(0, -1));
  expect(decoded.ok && Buffer.from(encodeLine(decoded.pack)).equals(lineOf(name))).toBe(true);
});

test('the document names every channel with its units and limits', () => {
  for (const c of channels) {
    const units = Object.keys(c.senmlUnits)
      .map((unit) => `\`${unit}\``)
      .join(' or ');
    expect(doc).toContain(`| \`${c.name}\` | ${c.title} | ${units} | ${c.unit} | ${c.min} | ${c.max} |`);
  }
});

test('the document explains every counter, and its limits are those of the code', () => {
  for (const [name, sentence] of Object.entries(counterSentences))
    expect(doc).toContain(`| \`${name}\` | ${sentence} |`);
  expect(doc).toContain(`at most ${maxPackBytes} bytes`);
});

test('the bytes worked through in the document are right', () => {
  const pack = lineOf('smallest').subarray(0, -1);
  const digits = crcDigits(crc16(pack));
  const whole = Buffer.concat([pack, Buffer.from(`*${digits}\n`)]);
  const hex = [...whole.subarray(-13)].map((byte) => byte.toString(16).toUpperCase().padStart(2, '0')).join(' ');
  expect(doc).toContain(`... "v":7}]*${digits}\\n   =   ... ${hex}`);
});

test.skipIf(!has('g++'))('the smallest sketch (g++) prints packs that the bridge takes whole', () => {
  const folder = mkdtempSync(join(tmpdir(), 'limpid-sketch-'));
  const stub = new URL('sketch/', import.meta.url).pathname;
  writeFileSync(join(folder, 'sketch.cpp'), block('cpp'));
  const files = [join(folder, 'sketch.cpp'), join(stub, 'main.cpp'), '-o', join(folder, 'sketch')];
  const built = spawnSync('g++', ['-std=c++11', '-Wall', '-Wextra', '-Werror', '-I', stub, ...files], {
    encoding: 'utf8',
  });
  expect(built.stderr).toBe('');
  const packs = packsOf(spawnSync(join(folder, 'sketch')).stdout);
  rmSync(folder, { recursive: true });
  expect(packs.map((p) => [p.boot, p.seq, p.upS])).toEqual(Array.from({ length: 20 }, (_, i) => [0, i, i / 10]));
  expect(packs.map((p) => p.values.turbidityNtu)).toEqual(
    Array.from({ length: 20 }, (_, i) => (i < 10 ? 500.5 : undefined)),
  );
});

test.skipIf(!has('python3'))(
  'the ten lines in another language (python3) print packs that the bridge takes whole',
  () => {
    const packs = packsOf(spawnSync('python3', ['-c', block('python'), '5']).stdout);
    expect(packs.map((p) => p.seq)).toEqual([0, 1, 2, 3, 4]);
    expect(packs.every((p) => p.values.turbidityNtu === 7.5)).toBe(true);
  },
);
