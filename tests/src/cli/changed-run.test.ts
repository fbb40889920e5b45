import { appendFileSync, cpSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { z } from 'zod';
import { tamper } from '../../tamper-store.ts';
import { limpid } from './command-line.ts';

/** What an auditor is told of a sealed run that was changed afterwards, in the store or on the disk. */
const root = mkdtempSync(join(tmpdir(), 'limpid-changed-'));
afterAll(() => rmSync(root, { recursive: true, force: true }));
const at = (...names: readonly string[]): string => join(root, ...names);
const runId = 'simulated-ordinary-1';

beforeAll(async () => {
  await limpid('simulate', 'ordinary', at('recording'), '--seed', '1');
  await limpid('import', at('recording'), '--data', at('whole'));
  const sealed = await limpid('seal', runId, '--by', 'A. Engineer', '--data', at('whole'));
  const out = await limpid('export', runId, at('out'), '--data', at('whole'));
  if (sealed.code + out.code !== 0 || out.stderr !== '') throw new Error(sealed.stderr + out.stderr);
});

const sealedFile = (data: string, name: string): string => join(data, 'sealed', runId, name);
let n = 0;
function changed(change: (data: string) => void): string {
  const data = at(`changed-${(n += 1)}`);
  cpSync(at('whole'), data, { recursive: true });
  change(data);
  return data;
}

const reportSchema = z.looseObject({ marks: z.array(z.string()) });
const auditSchema = z.looseObject({ findings: z.array(z.looseObject({ id: z.string(), text: z.string() })) });

/** A page without its charts. */
const words = (html: string): string => readFileSync(html, 'utf8').replaceAll(/<svg .*?<\/svg>/gs, '');

/** Marks and page of the report, and what the audit finds against the record. */
async function told(subject: string, data: string) {
  const html = join(data, 'report.html');
  const report = await limpid('report', subject, '--out', html, '--html', '--data', data, '--json');
  const audit = await limpid('audit', subject, '--data', data, '--json');
  expect([report.stderr, report.code, audit.stderr, audit.code]).toEqual(['', 0, '', 0]);
  const { findings } = auditSchema.parse(JSON.parse(audit.stdout));
  return {
    marks: reportSchema.parse(JSON.parse(report.stdout)).marks,
    page: words(html),
    found: findings.filter((f) => f.id === 'record-broken').map((f) => f.text),
  };
}

describe('a run that is as it was sealed', () => {
  test('bears no mark, has no finding, and its report proves itself by the last entry', async () => {
    for (const subject of [runId, at('out')]) {
      const { marks, page, found } = await told(subject, at('whole'));
      expect([marks, found]).toEqual([['Simulated water'], []]);
      expect(page).toContain('The last entry and the fingerprint, to be read by a camera');
    }
  });
});

describe('a sealed run that was changed in the store', () => {
  const ways: readonly (readonly [string, string, RegExp])[] = [
    [
      'an event',
      `UPDATE events SET link = replace(link, '"event":"agitate-end"', '"event":"agitate-start"')
        WHERE idx = (SELECT min(idx) FROM events WHERE link LIKE '%agitate-end%')`,
      /entry \d+ \(\S+, \d+ s\) was changed after it was kept/,
    ],
    [
      'samples',
      `UPDATE chunks SET body = CAST(substr(body, 1, length(body) - 8) || x'0000000000000840' AS BLOB) WHERE chunk = 1`,
      /the samples from [\d.]+ s to [\d.]+ s are not those that the chain holds/,
    ],
    [
      'samples put in',
      `INSERT INTO chunks (run, chunk, from_s, to_s, count, body)
        SELECT run, 900, 90000, 90060, count, body FROM chunks WHERE chunk = 1`,
      /samples from 90000 s to 90060 s were put in/,
    ],
    [
      'its head',
      `UPDATE runs SET head = replace(head, '"simulated":true', '"simulated":false')`,
      /what the run began with \(title, survey, settings\) was changed/,
    ],
  ];
  test.each(ways)('%s: report, audit and export say so', async (_, sql, fault) => {
    const data = changed((folder) => tamper(folder, sql));
    const { marks, page, found } = await told(runId, data);
    expect(marks).toContain('The record was changed');
    expect(found.join()).toMatch(fault);
    expect(page).toMatch(fault);
    expect(page).toContain('but this is not the record that was sealed');
    expect(page).toContain('not shown: the record was changed, so its last entry proves nothing');
    expect(page).not.toContain('to be read by a camera');
    const out = await limpid('export', runId, join(data, 'copy'), '--data', data, '--json');
    expect(out.code).toBe(0);
    expect(out.stderr).toMatch(fault);
    expect(JSON.parse(out.stdout)).toMatchObject({ sealed: true, faults: [{ code: expect.any(String) }] });
    // The signed files themselves leave as they were, and that is said.
    expect(out.stderr).toContain('what is written is its sealed record, and that is intact');
    for (const name of readdirSync(at('out')))
      expect(readFileSync(join(data, 'copy', name))).toEqual(readFileSync(at('out', name)));
  });

  test.each([
    ['an entry that is no JSON', `UPDATE events SET link = 'rubbish' WHERE idx = 3`, 'entry 3 in limpid.sqlite'],
    ['an entry that is none', `UPDATE events SET link = '{"index":3}' WHERE idx = 3`, 'entry 3 in limpid.sqlite'],
    ['samples that are none', `UPDATE chunks SET body = 'rubbish' WHERE chunk = 1`, 'chunk 1 of the samples'],
    ['a head that is none', `UPDATE runs SET head = '{}'`, 'the head in limpid.sqlite'],
  ])('with %s it is refused in a sentence', async (_, sql, words) => {
    const data = changed((folder) => tamper(folder, sql));
    for (const args of [
      ['report', runId, '--out', join(data, 'r.pdf')],
      ['audit', runId],
      ['export', '--all', join(data, 'all')],
    ]) {
      const { code, stdout, stderr } = await limpid(...args, '--data', data);
      // What was sealed can be copied whatever became of the store, and the copy is said to be of a changed run.
      expect(code === 1 || args[0] === 'export').toBe(true);
      expect(`${stdout}${stderr}`).toContain(words);
      expect(stderr).not.toMatch(/fault of its own|\n\s+at /);
    }
  });
});

describe('a sealed record that was changed on the disk', () => {
  const touch = (data: string): void => appendFileSync(sealedFile(data, 'events.csv'), '9000,note,,added later\n');

  test('is found by report, audit and export of the run', async () => {
    const data = changed(touch);
    const { marks, page, found } = await told(runId, data);
    expect(marks).toContain('The seal does not fit this record');
    for (const text of [page, found.join()])
      expect(text).toMatch(/sealed\/\S+\/events\.csv, line \d+: changed since it was sealed/);
    const one = await limpid('export', runId, join(data, 'copy'), '--data', data);
    expect(one.code).toBe(0);
    expect(one.stderr).toContain('was changed, and nothing in it is proved');
    expect(one.stderr).toMatch(/sealed\/\S+\/events\.csv, line \d+: changed since it was sealed/);
    const zip = await limpid('export', runId, join(data, 'copy.zip'), '--data', data);
    expect(zip.stderr).toBe(one.stderr);
    const all = await limpid('export', '--all', join(data, 'all'), '--data', data, '--json');
    expect(all.stderr).toContain(one.stderr.trim());
    expect(JSON.parse(all.stdout)).toMatchObject({ written: [runId], changed: [{ runId }], refused: [] });
  });
});

describe('a recording that was changed', () => {
  test('without a seal: its report is marked and says first what was changed', async () => {
    const data = changed(() => {});
    const folder = join(data, 'copy');
    cpSync(at('out'), folder, { recursive: true });
    rmSync(join(folder, 'seal.json'));
    const file = join(folder, 'recording.csv');
    const rows = readFileSync(file, 'utf8').split('\n');
    rows[100] = (rows[100] ?? '').replace(/,[^,]*/, ',0.1');
    writeFileSync(file, rows.join('\n'));
    const { stderr, code } = await limpid(
      ...['report', folder, '--out', join(data, 'r.html'), '--html', '--data', data],
    );
    expect(code).toBe(0);
    expect(stderr).toContain('recording.csv');
    const page = words(join(data, 'r.html'));
    expect(page).toContain('The record was changed');
    expect(page).toMatch(/recording\.csv: the samples from [\d.]+ s to [\d.]+ s are not those that the chain holds/);
    expect(page).not.toContain('to be read by a camera');
  });
});
