import { appendFileSync, existsSync, readFileSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { beforeAll, describe, expect, test } from 'vitest';
import { Problem } from '../../../src/core/message/problem.ts';
import { exportRun, importRecording, verifyRecording } from '../../../src/recording/recording.ts';
import {
  detailsFile,
  filesNamed,
  keepDetails,
  keepPhoto,
  photoLimitBytes,
  readDetails,
  readNamed,
  runFolder,
} from '../../../src/recording/run-files.ts';
import { copySealed, sealedFolder, sealRun, takeInSealed } from '../../../src/recording/sealed.ts';
import { openStore } from '../../../src/store/open.ts';
import { headOf, sampleAt } from '../../contracts/store.contract.ts';
import { newPlace } from './samples.ts';
import { testPicture } from './test-picture.ts';

const data = newPlace();
const picture = testPicture(40, 30);
const details = { client: 'C. Owner', site: '9 Sample Lane' };
const out = newPlace();
const sealedOut = newPlace();
let photo = '';

/** A run with a photo and a hand-over, written out once before and once after its seal. */
beforeAll(() => {
  const store = openStore(data);
  const run = store.createRun({ ...headOf('r1'), simulated: false });
  for (let i = 0; i < 50; i++) run.appendSample(sampleAt(i / 10, i));
  const tell = (id: string, event: string, about: object): void => {
    run.appendEvent({
      id,
      event: { timeS: 5, event, emitter: '', note: '', data: { ...about } },
      who: 'loopback',
      wallAt: '2026-01-02T03:04:05.000Z',
    });
  };
  const kept = keepPhoto(data, 'r1', picture);
  photo = kept.file;
  tell('p1', 'photo', kept);
  tell('h1', 'hand-over', { engineer: 'A. Engineer', ...keepDetails(data, 'r1', details) });
  exportRun(run, out, runFolder(data, 'r1'));
  sealRun(data, run, { by: 'A. Engineer', who: 'loopback', timeS: 6, wallAt: '2026-01-02T03:05:00.000Z' });
  copySealed(sealedFolder(data, 'r1'), sealedOut, 'r1');
  store.close();
});

function codeOf(work: () => unknown): string {
  try {
    work();
    return 'none';
  } catch (error) {
    return error instanceof Problem ? error.code : String(error);
  }
}

/** A copy of the sealed record in which something was changed. */
function changed(change: (folder: string) => void): ReturnType<typeof verifyRecording> {
  const folder = newPlace();
  copySealed(sealedFolder(data, 'r1'), folder, 'r1');
  change(folder);
  return verifyRecording(folder);
}

describe('photos and names beside a run', () => {
  test('leave with it byte for byte, named by the data package, and the record is sound', () => {
    for (const folder of [out, sealedOut]) {
      expect(readFileSync(join(folder, photo))).toEqual(Buffer.from(picture));
      expect(readFileSync(join(folder, 'datapackage.json'), 'utf8')).toContain('"mediatype": "image/png"');
      expect(verifyRecording(folder)).toMatchObject({ sound: true, faults: [] });
    }
  });

  test('the names of client and place stand in no other file', () => {
    for (const name of ['chain.jsonl', 'events.csv', 'context.json', 'datapackage.json', 'seal.json'])
      expect(readFileSync(join(sealedOut, name), 'utf8')).not.toContain(details.client);
    expect(readDetails(readFileSync(join(sealedOut, detailsFile)))).toMatchObject(details);
  });

  test('a copy without them is sound all the same, and says that they are left out', () => {
    const folder = newPlace();
    copySealed(sealedFolder(data, 'r1'), folder, 'r1', false);
    expect(existsSync(join(folder, detailsFile))).toBe(false);
    const check = verifyRecording(folder);
    expect(check).toMatchObject({ sound: true, faults: [], seal: { state: 'good' } });
    expect(check.remarks.map((r) => r.code)).toEqual(['recording-details-left-out']);
  });

  test('a changed or missing photo is found, under a seal and without one', () => {
    const spoilt = changed((folder) => appendFileSync(join(folder, photo), 'x'));
    expect(spoilt.faults.some((f) => f.params['file'] === photo)).toBe(true);
    const gone = changed((folder) => rmSync(join(folder, photo)));
    expect(gone.faults.map((f) => f.code)).toContain('seal-file-gone');
    const bare = changed((folder) => {
      rmSync(join(folder, 'seal.json'));
      appendFileSync(join(folder, photo), 'x');
    });
    expect(bare.sound).toBe(false);
    expect(bare.faults.map((f) => f.code)).toEqual(['seal-gone', 'recording-file-changed']);
  });

  test('come back into another store with the record', () => {
    const place = newPlace();
    const store = openStore(place);
    const run = store.openRun(takeInSealed(place, store, out));
    const named = filesNamed((run?.events() ?? []).map((e) => e.event));
    expect(named.map((n) => readNamed(runFolder(place, 'r1'), n) !== null)).toEqual([true, true]);
    const again = newPlace();
    if (run) exportRun(run, again, runFolder(place, 'r1'));
    expect(verifyRecording(again)).toMatchObject({ sound: true, faults: [] });
    expect(importRecording(store, again)).toBe('r1');
    store.close();
  });
});

describe('what is taken for a photo', () => {
  test('the same one is kept once, by its hash', () => {
    expect(keepPhoto(data, 'r1', picture)).toEqual(keepPhoto(data, 'r1', picture));
  });

  test('JPEG and PNG by their first bytes; nothing else, whatever it is called', () => {
    const jpeg = Buffer.from([0xff, 0xd8, 0xff, 0xe0, 1, 2, 3]);
    expect(keepPhoto(data, 'r1', jpeg).type).toBe('image/jpeg');
    for (const text of ['', '<svg xmlns="http://www.w3.org/2000/svg"/>', 'GIF89a', '%PDF-1.7'])
      expect(codeOf(() => keepPhoto(data, 'r1', Buffer.from(text)))).toBe('photo-kind');
    const large = Buffer.alloc(photoLimitBytes + 1);
    large.set([0xff, 0xd8, 0xff]);
    expect(codeOf(() => keepPhoto(data, 'r1', large))).toBe('photo-large');
  });

  test('a name that leads elsewhere is no file of a run', () => {
    const sha256 = 'a'.repeat(64);
    const of = (file: string) =>
      filesNamed([{ timeS: 0, event: 'photo', emitter: '', note: '', data: { file, sha256 } }]);
    for (const file of ['files/../seal.json', '/etc/hosts', 'files/a/b.png', 'files/x.svg', 'files/A.png'])
      expect(of(file)).toEqual([]);
    expect(of('files/photo-1.png')).toHaveLength(1);
    fc.assert(fc.property(fc.string(), (name) => of(`files/../${name}`).length === 0));
  });

  test('two records of the same names have different hashes: nobody can try names against one', () => {
    expect(keepDetails(newPlace(), 'x', details).sha256).not.toBe(keepDetails(newPlace(), 'x', details).sha256);
  });
});
