import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { Problem } from '../../src/core/message/problem.ts';
import { exportOne } from '../../src/recording/bulk.ts';
import { readRecording } from '../../src/recording/read.ts';
import { verifyRecording } from '../../src/recording/verify.ts';
import { unzipRecording, zipFolder } from '../../src/recording/zip.ts';
import { rig } from '../peers/firm/rig.ts';
import { generator } from './generator.ts';
import { mutate } from './mutate.ts';

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
});
