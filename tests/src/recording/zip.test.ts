import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { unzipSync, type Zippable, zipSync } from 'fflate';
import { afterAll, beforeEach, describe, expect, it } from 'vitest';
import { Problem } from '../../../src/core/message/problem.ts';
import { unzipRecording, zipFolder, zipLimits } from '../../../src/recording/zip.ts';

const home = mkdtempSync(join(tmpdir(), 'limpid-zip-'));
let n = 0;
let work = '';
beforeEach(() => {
  n += 1;
  work = join(home, String(n));
  mkdirSync(work);
});
afterAll(() => rmSync(home, { recursive: true, force: true }));

const bytes = (text: string): Uint8Array => new TextEncoder().encode(text);

function archive(content: Uint8Array): string {
  const path = join(work, 'in.zip');
  writeFileSync(path, content);
  return path;
}

/** Code of what was refused; and that nothing was written outside of the folder. */
function refusal(content: Uint8Array, limits = zipLimits): string {
  const path = archive(content);
  try {
    unzipRecording(path, join(work, 'out'), limits);
    return 'taken';
  } catch (error) {
    if (error instanceof Problem) return error.code;
    throw error;
  } finally {
    const strays = [...readdirSync(home).filter((name) => !/^\d+$/.test(name)), ...readdirSync(work)];
    expect(strays.filter((name) => !/^(\d+|in\.zip|out)$/.test(name))).toEqual([]);
  }
}

/** The archive with its directory changed: `change` gets the bytes of each entry's header there. */
function withDirectory(content: Uint8Array, change: (entry: Buffer) => void): Uint8Array {
  const copy = Buffer.from(content);
  for (
    let at = copy.indexOf('PK\u0001\u0002', 0, 'latin1');
    at >= 0;
    at = copy.indexOf('PK\u0001\u0002', at + 4, 'latin1')
  )
    change(copy.subarray(at));
  return copy;
}

describe('zipFolder and unzipRecording', () => {
  it('bring any files out and in again, and fflate reads what was written', () => {
    const name = fc.stringMatching(/^[a-z][a-z0-9_-]{0,10}\.(csv|json|jpg)$/);
    fc.assert(
      fc.property(fc.dictionary(name, fc.uint8Array({ maxLength: 5000 }), { minKeys: 1, maxKeys: 6 }), (files) => {
        const from = mkdtempSync(join(work, 'from-'));
        for (const [file, content] of Object.entries(files)) writeFileSync(join(from, file), content);
        const pieces: Uint8Array[] = [];
        zipFolder(from, (piece) => pieces.push(piece), 'run/');
        const packed = Buffer.concat(pieces);
        const to = mkdtempSync(join(work, 'to-'));
        writeFileSync(join(to, 'a.zip'), packed);
        const folder = unzipRecording(join(to, 'a.zip'), join(to, 'out'));
        const read = unzipSync(packed);
        for (const [file, content] of Object.entries(files)) {
          expect(Buffer.from(read[`run/${file}`] ?? [])).toEqual(Buffer.from(content));
          expect(readFileSync(join(folder, file))).toEqual(Buffer.from(content));
        }
        expect(Object.keys(read)).toHaveLength(Object.keys(files).length);
      }),
      { numRuns: 30 },
    );
  });

  it('reads what fflate packed, the files on top or in one folder', () => {
    for (const prefix of ['', 'old-run/']) {
      const content = zipSync({
        [`${prefix}recording.csv`]: bytes('time_s\n'),
        [`${prefix}context.json`]: bytes('{}'),
      });
      const folder = unzipRecording(archive(content), join(work, `out${prefix.length}`));
      expect(readFileSync(join(folder, 'recording.csv'), 'utf8')).toBe('time_s\n');
    }
  });

  const python = spawnSync('python3', ['--version']).status === 0;
  it.skipIf(!python)('is read by another program, too (python3 zipfile)', () => {
    const from = join(work, 'from');
    mkdirSync(from);
    const text = 'time_s,turbidity_ntu\n'.repeat(4000);
    writeFileSync(join(from, 'recording.csv'), text);
    const pieces: Uint8Array[] = [];
    zipFolder(from, (piece) => pieces.push(piece));
    const path = archive(Buffer.concat(pieces));
    const code = `import zipfile,hashlib,sys; z=zipfile.ZipFile(sys.argv[1]); assert z.testzip() is None; print(hashlib.sha256(z.read('recording.csv')).hexdigest())`;
    const { stdout } = spawnSync('python3', ['-c', code, path], { encoding: 'utf8' });
    expect(stdout.trim()).toBe(createHash('sha256').update(text).digest('hex'));
  });
});

describe('a hostile archive is refused with a plain error', () => {
  it.each([
    ['../evil.csv'],
    ['a/../../evil.csv'],
    ['/etc/evil.csv'],
    ['..\\evil.csv'],
    ['C:\\evil.csv'],
    ['a\u0000b.csv'],
    ['a//b.csv'],
    ['./a.csv'],
    ['con.csv.'],
    [`${'long/'.repeat(60)}a.csv`],
  ])('for the name %j', (name) => {
    expect(refusal(zipSync({ [name]: bytes('x'), 'recording.csv': bytes('y') }))).toBe('recording-zip-path');
    expect(existsSync(join(work, 'out', 'recording.csv'))).toBe(false);
  });

  it('for the same name in large and small letters, and for a link', () => {
    expect(refusal(zipSync({ 'a.csv': bytes('x'), 'A.csv': bytes('y') }))).toBe('recording-zip-path');
    const link: Zippable = { 'recording.csv': [bytes('/etc/passwd'), { os: 3, attrs: (0o120777 << 16) >>> 0 }] };
    expect(refusal(zipSync(link))).toBe('recording-zip-path');
  });

  it('for a bomb: by its own word, by its ratio, and when its word is a lie', () => {
    const much = new Uint8Array(8 << 20);
    const bomb = zipSync({ 'recording.csv': much });
    expect(bomb.length).toBeLessThan(20_000);
    expect(refusal(bomb)).toBe('recording-zip-too-large');
    expect(refusal(bomb, { ...zipLimits, maxRatio: 1e9, maxBytes: 1 << 20 })).toBe('recording-zip-too-large');
    const liar = withDirectory(bomb, (entry) => entry.writeUInt32LE(1000, 24));
    expect(refusal(liar)).toBe('recording-zip-broken');
    const many = Object.fromEntries(Array.from({ length: 50 }, (_, i) => [`${i}.csv`, bytes('x')]));
    expect(refusal(zipSync(many), { ...zipLimits, maxFiles: 10 })).toBe('recording-zip-too-large');
  });

  it('for a damaged one: cut, no zip at all, a wrong check sum, an entry that points elsewhere, locked', () => {
    const good = zipSync({ 'recording.csv': bytes('time_s\n1\n'.repeat(300)) });
    expect(refusal(good)).toBe('taken');
    expect(refusal(good.subarray(0, good.length - 9))).toBe('recording-no-zip');
    expect(refusal(bytes('time_s\n1\n'))).toBe('recording-no-zip');
    expect(refusal(new Uint8Array(0))).toBe('recording-no-zip');
    expect(refusal(withDirectory(good, (e) => e.writeUInt32LE(12345, 16)))).toBe('recording-zip-broken');
    expect(refusal(withDirectory(good, (e) => e.writeUInt32LE(0x7fffffff, 42)))).toBe('recording-zip-broken');
    expect(refusal(withDirectory(good, (e) => e.writeUInt32LE(5, 42)))).toBe('recording-zip-broken');
    expect(refusal(withDirectory(good, (e) => e.writeUInt16LE(1, 8)))).toBe('recording-zip-broken');
    expect(refusal(withDirectory(good, (e) => e.writeUInt16LE(99, 10)))).toBe('recording-zip-broken');
  });

  it('for any damage: nothing but a plain error, whatever byte is changed', () => {
    const good = zipSync({
      'recording.csv': bytes('time_s,turbidity_ntu\n1,2\n'.repeat(20)),
      'context.json': bytes('{}'),
    });
    fc.assert(
      fc.property(fc.nat(good.length - 1), fc.integer({ min: 1, max: 255 }), (at, by) => {
        const bad = Uint8Array.from(good);
        bad[at] = ((bad[at] ?? 0) + by) % 256;
        rmSync(join(work, 'out'), { recursive: true, force: true });
        expect(refusal(bad)).toMatch(/^(taken|recording-)/);
      }),
      { numRuns: 300 },
    );
  });
});
