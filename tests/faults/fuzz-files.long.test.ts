import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { cborToJson } from '../../firmware-bridge/wire/senml-cbor.ts';
import { readMapping } from '../../firmware-bridge/wire/mapping.ts';
import { readAuditSettings } from '../../src/core/audit/read-settings.ts';
import { Problem } from '../../src/core/message/problem.ts';
import { decodePart } from '../../src/hub/part.ts';
import { exportOne } from '../../src/recording/bulk.ts';
import { readRecording } from '../../src/recording/read.ts';
import { verifyRecording } from '../../src/recording/verify.ts';
import { unzipRecording, zipFolder } from '../../src/recording/zip.ts';
import { rig } from '../peers/firm/rig.ts';
import { generator } from './generator.ts';

/** Inputs that once broke something, tried first; a new one goes here under a name that says what it was. */
const corpus = 'tests/faults/corpus';
const place = mkdtempSync(join(existsSync('/dev/shm') ? '/dev/shm' : tmpdir(), 'limpid-fuzz-'));
const made = rig('van-1');
made.record(1);
made.seal();
const whole = join(place, 'whole');
exportOne(made.folder, made.run, whole);
afterAll(async () => {
  rmSync(place, { recursive: true, force: true });
  await made.dispose();
});

const odd = [
  '\0',
  '"',
  '""',
  ',',
  ';',
  '\r',
  '\n',
  '1e999',
  '-0',
  'NaN',
  '1_000',
  '٣',
  '\ufeff',
  '{',
  '[',
  '__proto__',
  '=1+1',
  '../',
];

/** One to four changes: a bit, a cut, a piece doubled, a piece moved, something odd put in. */
function mutate(input: Buffer, random: () => number): Buffer {
  let bytes = Buffer.from(input);
  const place = (): number => Math.floor(random() * bytes.length);
  for (let n = 1 + Math.floor(random() * 4); n > 0; n--) {
    const [a, b] = [place(), place()].sort((x, y) => x - y) as [number, number];
    switch (Math.floor(random() * 6)) {
      case 0:
        bytes[a] = (bytes[a] ?? 0) ^ (1 << Math.floor(random() * 8));
        break;
      case 1:
        bytes = bytes.subarray(0, a);
        break;
      case 2:
        bytes = Buffer.concat([bytes.subarray(0, a), bytes.subarray(b)]);
        break;
      case 3:
        bytes = Buffer.concat([bytes.subarray(0, b), bytes.subarray(a, Math.min(b, a + 4096)), bytes.subarray(b)]);
        break;
      case 4:
        bytes = Buffer.concat([
          bytes.subarray(0, a),
          Buffer.from(odd[Math.floor(random() * odd.length)] ?? ''),
          bytes.subarray(a),
        ]);
        break;
      default:
        bytes = Buffer.concat([
          bytes.subarray(0, a),
          Buffer.from(String((random() - 0.5) * 10 ** (random() * 40 - 20))),
          bytes.subarray(a),
        ]);
    }
  }
  return bytes;
}

/** Either it is read, or a sentence says why not; anything else that comes out is given back. */
function otherThanSentence(read: () => unknown, what: string): string[] {
  try {
    read();
    return [];
  } catch (error) {
    if (error instanceof Problem && error.message.length > 20) return [];
    return [`${what}: ${error instanceof Error ? error.stack : String(error)}`];
  }
}

function cases(name: string, seed: Buffer, count: number): Generator<Buffer> {
  const random = generator(count * 31 + name.length);
  return (function* () {
    const kept = join(corpus, name);
    if (existsSync(kept)) for (const file of readdirSync(kept)) yield readFileSync(join(kept, file));
    for (let i = 0; i < count; i++) yield mutate(seed, random);
  })();
}

describe('what comes from outside, changed thousands of times', () => {
  it.each(['recording.csv', 'events.csv', 'context.json', 'chain.jsonl', 'datapackage.json', 'seal.json'])(
    '%s of a recording is read, or refused by a sentence',
    (name) => {
      const folder = join(place, `changed-${name}`);
      mkdirSync(folder);
      for (const file of readdirSync(whole)) {
        if (file === 'files') continue;
        writeFileSync(join(folder, file), readFileSync(join(whole, file)));
      }
      const original = readFileSync(join(whole, name));
      // The first rows are as good as all, and a thousand times as many can be tried.
      const seed = name === 'recording.csv' ? original.subarray(0, 2000) : original;
      const wrong: string[] = [];
      for (const bytes of cases(name, seed, 1200)) {
        writeFileSync(join(folder, name), bytes);
        const shown = JSON.stringify(bytes.toString('latin1').slice(0, 400));
        wrong.push(...otherThanSentence(() => readRecording(folder), `reading ${shown}`));
        const verified = { sound: false };
        wrong.push(...otherThanSentence(() => Object.assign(verified, verifyRecording(folder)), `verifying ${shown}`));
        if (verified.sound && !bytes.equals(original)) wrong.push(`taken for sound: ${shown}`);
      }
      expect(wrong).toEqual([]);
    },
  );

  it('an archive is taken apart into its own folder alone, or refused by a sentence', () => {
    const small = join(place, 'small');
    mkdirSync(small);
    for (const name of ['context.json', 'events.csv'])
      writeFileSync(join(small, name), readFileSync(join(whole, name)));
    writeFileSync(join(small, 'recording.csv'), readFileSync(join(whole, 'recording.csv')).subarray(0, 4000));
    const pieces: Uint8Array[] = [];
    zipFolder(small, (piece) => pieces.push(Uint8Array.from(piece)));
    const zip = join(place, 'a.zip');
    const target = join(place, 'unzipped');
    const before = new Set(readdirSync(place));
    for (const bytes of cases('zip', Buffer.concat(pieces), 1200)) {
      writeFileSync(zip, bytes);
      rmSync(target, { recursive: true, force: true });
      expect(otherThanSentence(() => unzipRecording(zip, target), 'unzipping')).toEqual([]);
      expect(readdirSync(place).filter((name) => !before.has(name) && !['a.zip', 'unzipped'].includes(name))).toEqual(
        [],
      );
    }
  });

  it('CBOR, mappings, rules and parts of a rig are read, or refused by a reason', () => {
    const pack = Buffer.from('82a2213a00000000200ff', 'hex');
    for (const bytes of cases('cbor', pack, 20_000)) expect(cborToJson(bytes)).toBeDefined();
    const mapping = Buffer.from('{"v":1,"kit":"k","channels":{"turbidity":{"from":"t","unit":"NTU"}}}');
    for (const bytes of cases('mapping', mapping, 20_000)) expect(readMapping(bytes.toString())).toBeDefined();
    const rules = Buffer.from(
      '{"off":["passes-low"],"severity":{"data-gap":"note"},"thresholds":{"passes-low":{"leastPasses":3}}}',
    );
    for (const bytes of cases('rules', rules, 20_000))
      expect(otherThanSentence(() => readAuditSettings(bytes.toString(), 'rules.json'), 'rules')).toEqual([]);
    const part = Buffer.from('{"v":1,"kind":"events","run_id":"r","from":0}\n\x03\x00');
    for (const bytes of cases('part', part, 20_000))
      for (const leaf of ['events', 'samples', 'record'] as const) expect(decodePart(leaf, bytes)).toBeDefined();
  });
});
