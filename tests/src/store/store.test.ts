import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll } from 'vitest';
import { openStore } from '../../../src/store/open.ts';
import { storeContract } from '../../contracts/store.contract.ts';

const root = mkdtempSync(join(tmpdir(), 'limpid-store-'));
afterAll(() => rmSync(root, { recursive: true, force: true }));

let n = 0;
storeContract('SQLite in a folder', {
  fresh: () => {
    n += 1;
  },
  open: () => openStore(join(root, String(n))),
});
