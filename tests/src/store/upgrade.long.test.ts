import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, it } from 'vitest';
import { verifyChain } from '../../../src/core/seal/verify.ts';
import { migrations } from '../../../src/store/migrations/migrations.ts';
import { openStore } from '../../../src/store/open.ts';
import { sha256 } from '../../../src/store/rows.ts';
import { limpid } from '../cli/command-line.ts';
import { copyOf, databaseOf, exportedThen, schemas, unpackOld, versionOf } from './old-folder.ts';

const root = mkdtempSync(join(tmpdir(), 'limpid-upgraded-'));
afterAll(() => rmSync(root, { recursive: true, force: true }));

describe.each(schemas)('with a data folder of version %i', (schema) => {
  it('each command does what it does with one of today', async () => {
    const data = join(root, `${schema}`);
    unpackOld(schema, data);
    const at = (name: string): string => join(root, `${schema}-${name}`);
    const ran = async (...words: string[]): Promise<string> => {
      const { code, stdout, stderr } = await limpid(...words, '--data', data);
      expect([words[0], code, code === 0 ? '' : stderr]).toEqual([words[0], 0, '']);
      return stdout;
    };
    for (const run of Object.keys(exportedThen(schema))) {
      expect(await ran('runs')).toContain(run);
      await ran('export', run, at(run));
      expect(await ran('verify', at(run))).toMatch(/^Intact/);
      const { code, stdout } = await limpid('analyse', at(run), '--json');
      expect(code).toBe(0);
      // The same run, taken in and brought out anew by today's version, comes to the same.
      const fresh = at(`${run}-fresh`);
      expect((await limpid('import', at(run), '--data', fresh)).code).toBe(0);
      expect((await limpid('export', run, at(`${run}-again`), '--data', fresh)).code).toBe(0);
      const again = await limpid('analyse', at(`${run}-again`), '--json');
      expect(again.stdout.replaceAll(`${run}-again`, run)).toBe(stdout);
      await ran('report', run, '--out', at(`${run}.pdf`));
      expect(
        readFileSync(at(`${run}.pdf`))
          .subarray(0, 5)
          .toString(),
      ).toBe('%PDF-');
    }
    await ran('backup', at('backup'));
    expect(existsSync(at('backup'))).toBe(true);
    const restored = at('restored');
    expect((await limpid('restore', at('backup'), '--data', restored)).code).toBe(0);
    expect((await limpid('runs', '--data', restored, '--json')).stdout).toBe(await ran('runs', '--json'));
  });
});

describe('an upgrade that is killed', () => {
  const killed = fileURLToPath(new URL('upgrade-killed.ts', import.meta.url));

  it.each(['before the copy', 'before the step', 'before the commit'])('%s goes on at the next start', (moment) => {
    const folder = join(root, moment.replaceAll(' ', '-'));
    unpackOld(2, folder);
    const died = spawnSync(process.execPath, ['--import', 'tsx', killed, folder, moment], { encoding: 'utf8' });
    expect([died.signal, died.stderr]).toEqual(['SIGKILL', '']);
    // What a copy that was not finished leaves behind is in nobody's way.
    if (moment !== 'before the copy') writeFileSync(`${copyOf(folder, 2)}.part`, 'half a copy');
    const store = openStore(folder);
    expect(store.runs()).toHaveLength(2);
    for (const head of store.runs())
      expect(verifyChain(head, store.openRun(head.runId)?.events() ?? [], sha256).intact).toBe(true);
    store.close();
    expect(versionOf(databaseOf(folder))).toBe(migrations.length);
    expect(versionOf(copyOf(folder, 2))).toBe(2);
  });
});
