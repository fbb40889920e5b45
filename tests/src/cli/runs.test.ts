import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, expect, test } from 'vitest';
import { openStore } from '../../../src/store/open.ts';
import { headOf } from '../../contracts/store.contract.ts';
import { limpid } from './command-line.ts';

const data = mkdtempSync(join(tmpdir(), 'limpid-runs-'));
afterAll(() => rmSync(data, { recursive: true, force: true }));

test('runs are under way until their end was told', async () => {
  const store = openStore(data);
  const run = store.createRun(headOf('r1'));
  store.setCurrentRun('r1');
  store.close();
  expect((await limpid('runs', '--data', data)).stdout).toContain('under way');
  const again = openStore(data);
  const event = { timeS: 1, event: 'stage:end', emitter: '', note: '' };
  again.openRun(run.head.runId)?.appendEvent({ id: 'end-1', event, who: 'loopback', wallAt: '' });
  again.close();
  expect((await limpid('runs', '--data', data)).stdout).not.toContain('under way');
});
