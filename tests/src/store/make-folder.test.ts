import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { makeFolder } from '../../../src/store/make-folder.ts';

test('a folder is made with those above it, and again without harm', () => {
  const place = mkdtempSync(join(tmpdir(), 'limpid-folder-'));
  makeFolder(join(place, 'a', 'b'));
  makeFolder(join(place, 'a', 'b'));
  expect(existsSync(join(place, 'a', 'b'))).toBe(true);
  rmSync(place, { recursive: true });
});

test.skipIf(!existsSync('/proc/self'))('where nothing can be made it is an error, not a loop', () => {
  expect(() => makeFolder('/proc/limpid/data')).toThrow(/ENOENT|EACCES|EPERM/);
});
