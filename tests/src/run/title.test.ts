import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, expect, test } from 'vitest';
import { emptySample } from '../../../src/core/quantity/sample.ts';
import { exportRun } from '../../../src/recording/recording.ts';
import { startBridge } from '../../../src/run/bridge.ts';
import { readConfig } from '../../../src/run/config.ts';
import { openStore } from '../../../src/store/open.ts';
import { context } from '../recording/samples.ts';

const root = mkdtempSync(join(tmpdir(), 'limpid-title-'));
afterAll(() => rmSync(root, { recursive: true, force: true }));
const at = (name: string): string => join(root, name);
const titled = at('titled.json');
writeFileSync(titled, JSON.stringify({ ...context, title: 'Mill House, day one' }));

/** What a start of the bridge takes up. */
async function started(flags: Record<string, unknown>) {
  const bridge = await startBridge(readConfig({ data: at('data'), ...flags }, {}), () => undefined);
  const { resumed, head } = bridge;
  await bridge.stop();
  return { resumed, title: head.title, runId: head.runId, scenario: head.context['scenario'] };
}

test('a rehearsal has the title of --context, and a later start goes on with it by its scenario', async () => {
  const first = await started({ simulate: 'rehearsal', context: titled });
  expect(first).toMatchObject({ resumed: false, title: 'Mill House, day one', scenario: 'rehearsal' });
  expect(await started({ simulate: 'rehearsal', context: titled })).toEqual({ ...first, resumed: true });
  expect(await started({ simulate: 'rehearsal' })).toEqual({ ...first, resumed: true });
  const other = await started({ simulate: 'rehearsal', new: true });
  expect(other).toMatchObject({ resumed: false, title: 'Rehearsal at Pellowick House' });
});

test('a replay of one is called a replay, and no rehearsal goes on with it', async () => {
  const store = openStore(at('data'));
  const run = store.openRun(store.runs().find((r) => r.title === 'Mill House, day one')?.runId ?? '');
  run?.appendSample({ ...emptySample(run.lastTimeS() + 1), turbidityNtu: 3 });
  if (run) exportRun(run, at('out'));
  store.close();
  const replay = await started({ replay: at('out') });
  expect(replay).toMatchObject({ title: 'Replay of Mill House, day one', scenario: undefined });
  const next = await started({ simulate: 'rehearsal' });
  expect(next.resumed).toBe(false);
  expect(next.runId).not.toBe(replay.runId);
});
