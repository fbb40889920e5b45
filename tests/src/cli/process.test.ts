import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { z } from 'zod';

let data = '';
beforeAll(() => {
  data = mkdtempSync(join(tmpdir(), 'limpid-process-'));
});
afterAll(() => rmSync(data, { recursive: true, force: true }));

const run = (...argv: string[]) => spawn(process.execPath, ['--import', 'tsx', 'src/cli/limpid.ts', ...argv]);

describe('limpid as a process', () => {
  it.each(['SIGINT', 'SIGTERM'] as const)('ends cleanly on %s, a page that listens or not', async (signal) => {
    const child = run('start', '--data', data, '--host', '127.0.0.1', '--json', '--port', '18497');
    const [line] = await once(createInterface(child.stdout), 'line');
    const { url } = z.object({ url: z.string() }).parse(JSON.parse(String(line)));
    const page = await fetch(`${url}/api/live`);
    const reader = page.body?.getReader();
    await reader?.read();
    child.kill(signal);
    const [code, killedBy] = await once(child, 'exit');
    expect([code, killedBy]).toEqual([0, null]);
    await reader?.cancel().catch(() => undefined);
  });

  it.each([
    ['', 2, /No password was given, and nobody was added: .*LIMPID_PASSWORD/],
    ['ten letters', 0, /^Password/],
  ])(
    'adds a person by the password that is piped in (%j), and says so where there is none',
    async (piped, ends, says) => {
      const child = run('people', 'add', 'A. Auditor', '--data', data);
      let stderr = '';
      child.stderr.on('data', (chunk: Buffer) => {
        stderr += chunk.toString();
      });
      child.stdin.end(piped);
      const [code] = await once(child, 'exit');
      expect(code).toBe(ends);
      expect(stderr).toMatch(says);
      expect(stderr).not.toMatch(/Warning|unsettled/);
    },
  );

  it('gives its exit code to the shell, and nothing on stdout when it is used wrongly', async () => {
    const child = run('analise');
    let stdout = '';
    child.stdout.on('data', (chunk: Buffer) => {
      stdout += chunk.toString();
    });
    const [code] = await once(child, 'exit');
    expect([code, stdout]).toEqual([2, '']);
  });
});
