import { cpSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { limpid } from './command-line.ts';

const root = mkdtempSync(join(tmpdir(), 'limpid-seal-'));
afterAll(() => rmSync(root, { recursive: true, force: true }));
const at = (name: string): string => join(root, name);
const data = at('data');
const runId = 'simulated-ordinary-1';

beforeAll(async () => {
  await limpid('simulate', 'ordinary', at('recording'), '--seed', '1');
  await limpid('import', at('recording'), '--data', data);
});

describe('seal, export, verify, import', () => {
  test('need a run and a name', async () => {
    expect((await limpid('seal', '--data', data)).code).toBe(2);
    expect((await limpid('seal', runId, '--data', data)).code).toBe(2);
    expect((await limpid('seal', 'no-such-run', '--by', 'A', '--data', data)).code).toBe(1);
  });

  test('a draft is marked as one', async () => {
    const { code, stdout } = await limpid('report', runId, '--out', at('draft.pdf'), '--data', data, '--json');
    expect(code).toBe(0);
    expect(JSON.parse(stdout)).toMatchObject({ run: runId, marks: ['Draft: not sealed', 'Simulated water'] });
    expect(readFileSync(at('draft.pdf')).subarray(0, 5).toString()).toBe('%PDF-');
  });

  test('comments wait for the seal', async () => {
    const { code, stderr } = await limpid('seal', runId, '--by', 'A', '--comment', 'x', '--data', data);
    expect(code).toBe(1);
    expect(stderr).toContain('No sealed record of the run');
  });

  test('sign a run once', async () => {
    const { code, stdout } = await limpid('seal', runId, '--by', 'A. Engineer', '--data', data);
    expect(code).toBe(0);
    expect(stdout).toContain('as one with simulated water');
    const again = await limpid('seal', runId, '--by', 'A. Engineer', '--data', data);
    expect(again.code).toBe(1);
    expect(again.stderr).toContain('is sealed already');
  });

  test('the seal leaves with the run, and verify says by whom', async () => {
    expect((await limpid('export', runId, at('out'), '--data', data)).stdout).toContain('with its seal');
    expect(readdirSync(at('out'))).toContain('seal.json');
    const known = await limpid('verify', at('out'), '--data', data, '--json');
    expect(JSON.parse(known.stdout)).toMatchObject({
      sound: true,
      seal: { state: 'good', by: 'A. Engineer', known: true, name: 'this bridge', simulated: true },
    });
    const elsewhere = await limpid('verify', at('out'), '--data', at('other'));
    expect(elsewhere.code).toBe(0);
    expect(elsewhere.stdout).toMatch(/Sealed \S+ \S+ UTC by A\. Engineer with a key that is not known here/);
  });

  test('a file of keys decides whom to trust', async () => {
    const { stdout } = await limpid('verify', at('out'), '--data', data, '--json');
    const print = /"fingerprint":"([0-9a-f ]+)"/.exec(stdout)?.[1] ?? '';
    writeFileSync(at('ours.txt'), `${print}  The blue van\n`);
    writeFileSync(at('theirs.txt'), `${'00ff '.repeat(8).trim()}  Somebody\n`);
    writeFileSync(at('bad.txt'), '\nnonsense\n');
    const trusted = await limpid('verify', at('out'), '--keys', at('ours.txt'), '--data', at('other'));
    expect(trusted.code).toBe(0);
    expect(trusted.stdout).toContain('The blue van');
    const strange = await limpid('verify', at('out'), '--keys', at('theirs.txt'), '--data', at('other'));
    expect(strange.code).toBe(1);
    expect(strange.stdout).toMatch(/Not proved: it is sealed by none of the keys in .*theirs\.txt/);
    expect((await limpid('verify', at('out'), '--keys', at('bad.txt'), '--data', at('other'))).stderr).toContain(
      'line 2',
    );
  });

  test('a changed byte is told with file and line, and is not taken in', async () => {
    cpSync(at('out'), at('changed'), { recursive: true });
    const file = at('changed/events.csv');
    writeFileSync(file, readFileSync(file, 'utf8').replace('emitter-open', 'emitter-opem'));
    const { code, stdout } = await limpid('verify', at('changed'), '--data', data);
    expect(code).toBe(1);
    expect(stdout).toMatch(/events\.csv, line \d+: changed since it was sealed/);
    const taken = await limpid('import', at('changed'), '--data', at('third'));
    expect(taken.code).toBe(1);
    expect(taken.stderr).toMatch(/changed since it was sealed\. Take it from an export or a backup again/);
  });

  test('the findings of limpid analyse know of the seal, and of what was changed, as those of limpid audit do', async () => {
    const ids = async (command: string, folder: string): Promise<unknown[]> => {
      const { code, stdout } = await limpid(command, folder, '--json');
      expect(code).toBe(0);
      return JSON.parse(stdout).findings.map((f: { id: string }) => f.id);
    };
    cpSync(at('out'), at('stripped'), { recursive: true });
    rmSync(at('stripped/seal.json'));
    cpSync(at('out'), at('retouched'), { recursive: true });
    const file = at('retouched/recording.csv');
    writeFileSync(file, readFileSync(file, 'utf8').replace(/^(9\.\d+,)[^,]+/m, '$11.23'));
    const expected: [string, string[]][] = [
      ['out', []],
      ['stripped', ['record-broken', 'not-sealed']],
      ['retouched', ['record-broken']],
    ];
    for (const [folder, proof] of expected) {
      const found = await ids('analyse', at(folder));
      expect([folder, found.filter((id) => id === 'record-broken' || id === 'not-sealed')]).toEqual([folder, proof]);
      expect([folder, found]).toEqual([folder, await ids('audit', at(folder))]);
    }
  });

  test('the seal comes in again with the run', async () => {
    const { stdout } = await limpid('import', at('out'), '--data', at('second'));
    expect(stdout).toContain('It is sealed, and intact');
    expect((await limpid('export', runId, at('out2'), '--data', at('second'))).code).toBe(0);
    for (const name of readdirSync(at('out')))
      expect(readFileSync(at(`out2/${name}`))).toEqual(readFileSync(at(`out/${name}`)));
  });

  test('comments stand beside the seal and on the report', async () => {
    const said = ['--by', 'The office', '--comment', 'Visit 2 looked at again.'];
    expect((await limpid('seal', runId, ...said, '--data', data)).code).toBe(0);
    expect((await limpid('export', runId, at('out3'), '--data', data)).code).toBe(0);
    expect((await limpid('verify', at('out3'), '--data', data)).code).toBe(0);
    expect((await limpid('report', at('out3'), '--out', at('r.html'), '--html', '--data', data)).code).toBe(0);
    expect(readFileSync(at('r.html'), 'utf8')).toContain('Visit 2 looked at again.');
  });

  test('a new key signs from now on, and the old one stays known', async () => {
    expect((await limpid('seal', '--new-key', '--data', data)).code).toBe(0);
    const { stdout } = await limpid('verify', at('out'), '--data', data, '--json');
    expect(JSON.parse(stdout)).toMatchObject({ sound: true, seal: { known: true } });
  });
});

describe('report', () => {
  test('of a recording from elsewhere, of every kind', async () => {
    for (const [name, ...kind] of [
      ['a.pdf'],
      ['b.pdf', '--paper', 'letter'],
      ['c.pdf', '--label'],
      ['d.html', '--html'],
    ]) {
      const { code } = await limpid('report', at('recording'), '--out', at(name ?? ''), ...kind, '--data', data);
      expect(code).toBe(0);
    }
    expect(readFileSync(at('d.html'), 'utf8')).toContain('this recording carries no chain');
  });

  test('says what is wrong with what it was given', async () => {
    expect((await limpid('report', runId, '--data', data)).code).toBe(2);
    expect((await limpid('report', runId, '--out', at('x'), '--paper', 'a3', '--data', data)).code).toBe(2);
    const none = await limpid('report', 'nothing-there', '--out', at('x'), '--data', data);
    expect(none.code).toBe(1);
    expect(none.stderr).toContain('neither a run of the store nor a folder');
    const nowhere = await limpid('report', runId, '--out', at('no/such/x.pdf'), '--data', data);
    expect(nowhere.code).toBe(1);
    expect(nowhere.stderr).toContain('cannot be written');
  });
});
