import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { inflateSync } from 'node:zlib';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { labelPdf } from '../../../src/report/label.ts';
import { makeReport } from '../../../src/report/model.ts';
import { reportPdf } from '../../../src/report/pdf.ts';
import { demoInput, demoRun } from './demo-run.ts';
import { twentyEmitters } from './demo-variants.ts';

const folder = mkdtempSync(join(tmpdir(), 'limpid-report-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const run = demoRun();
const report = makeReport(demoInput(run, { sealed: true }));
const { seal } = demoInput(run, { sealed: true });
if (!seal) throw new Error('the demo is sealed');
const files = { a4: '', letter: '', label: '' };
beforeAll(async () => {
  for (const size of ['a4', 'letter'] as const) {
    files[size] = join(folder, `${size}.pdf`);
    writeFileSync(files[size], await reportPdf(report, size));
  }
  files.label = join(folder, 'label.pdf');
  writeFileSync(files.label, await labelPdf(report));
});

/** Objects of a PDF as text, compressed streams opened. */
function plain(pdf: Uint8Array): string {
  const bytes = Buffer.from(pdf);
  let out = bytes.toString('latin1');
  for (let at = bytes.indexOf('stream\n'); at >= 0; at = bytes.indexOf('stream\n', at + 1)) {
    try {
      out += inflateSync(bytes.subarray(at + 7)).toString('latin1');
    } catch {
      // A stream that is not compressed.
    }
  }
  return out;
}

describe('the PDF', () => {
  test('is tagged: headings, tables with header cells, lists, figures with words, language and title', async () => {
    const text = plain(await reportPdf(report));
    expect(text.startsWith('%PDF-1.7')).toBe(true);
    for (const tag of ['H1', 'H2', 'Table', 'TR', 'TH', 'TD', 'L', 'LI', 'LBody', 'Figure', 'Caption', 'Sect'])
      expect(text).toContain(`/S /${tag}\n`);
    expect(text).toContain('/Scope /Column');
    expect(text).toContain('/MarkInfo');
    expect(text).toContain('/Lang (en)');
    expect(text).toContain('/DisplayDocTitle true');
    expect(text.match(/\/S \/Figure\n/g)?.length).toBe(text.match(/\/Alt /g)?.length);
  });

  test('claims no standard that it was not checked against', async () => {
    expect(plain(await reportPdf(report))).not.toMatch(/pdfuaid|pdfaid/);
  });

  test('of an hour with all its traces stays small', async () => {
    expect((await reportPdf(report)).length).toBeLessThan(400_000);
  });
});

const found = (program: string): boolean => spawnSync(program, ['-v']).error === undefined;
const hasPoppler = found('pdftotext') && found('pdfinfo');
if (!hasPoppler && process.env['LIMPID_PEERS'] === 'required') throw new Error('pdftotext and pdfinfo are required');

describe.skipIf(!hasPoppler)('read by pdftotext and pdfinfo (skipped where they are missing)', () => {
  const textOf = (file: string, page?: number): string =>
    execFileSync('pdftotext', [...(page ? ['-f', `${page}`, '-l', `${page}`] : []), '-layout', file, '-'], {
      encoding: 'utf8',
    });
  const infoOf = (file: string, ...more: string[]): string =>
    execFileSync('pdfinfo', [...more, file], { encoding: 'utf8', maxBuffer: 1 << 26 });

  test.each(['a4', 'letter'] as const)('of many marks every word stands on the page: %s', async (size) => {
    const faults = [{ code: 'stored-samples-gone', params: { fromS: 60, toS: 119 } }];
    const file = join(folder, `marked-${size}.pdf`);
    for (const input of [
      { ...demoInput(run, { sealed: false }), faults },
      { ...demoInput(run, { sealed: true }), seal: { ...seal, state: 'broken' as const } },
    ]) {
      writeFileSync(file, await reportPdf(makeReport(input), size));
      const boxes = execFileSync('pdftotext', ['-l', '1', '-bbox', file, '-'], { encoding: 'utf8' });
      const numbers = (line: string): number[] => [...line.matchAll(/="(-?[\d.]+)"/g)].map((m) => Number(m[1]));
      const [width = 0, height = 0] = numbers(/<page .*>/.exec(boxes)?.[0] ?? '');
      const words = boxes.match(/<word .*>/g) ?? [];
      expect(words.length).toBeGreaterThan(50);
      for (const [left = -1, top = -1, right = 1e9, foot = 1e9] of words.map(numbers)) {
        expect(Math.min(left, top)).toBeGreaterThanOrEqual(0);
        expect(right).toBeLessThanOrEqual(width);
        expect(foot).toBeLessThanOrEqual(height);
      }
    }
  });

  test('its text can be searched, the summary on one page', () => {
    const first = textOf(files.a4, 1);
    for (const words of [report.headline, 'Exceptions', 'Result of each emitter', 'A. Engineer', 'Simulated water'])
      expect(first.replace(/\s+/g, ' ')).toContain(words);
    expect(textOf(files.a4, 2)).toContain('Survey');
  });

  test('the summary of a large house with nothing done stays on one page', async () => {
    const emitters = Array.from({ length: 40 }, (_, i) => ({
      id: `x${i}`,
      name: `Emitter with a name ${i}`,
      volume_l: 6,
    }));
    const large = { ...run, context: { ...run.context, emitters: [...run.context.emitters, ...emitters] } };
    const file = join(folder, 'large.pdf');
    writeFileSync(file, await reportPdf(makeReport(demoInput(large, { sealed: false })), 'letter'));
    expect(textOf(file, 1)).toContain('Not measured or not recorded');
    expect(textOf(file, 2)).toMatch(/^\s*Record of a heating.*\s+Survey/);
  });

  test('the summary of twenty emitters with much to say stays on one page of Letter', async () => {
    const file = join(folder, 'twenty.pdf');
    writeFileSync(file, await reportPdf(makeReport(demoInput(twentyEmitters(), { sealed: true })), 'letter'));
    expect(textOf(file, 1)).toContain('Not measured or not recorded');
    expect(textOf(file, 2)).toMatch(/^\s*Record of a heating.*\s+Survey/);
  });

  test('every page says the run, its number and the mark', () => {
    const pages = Number(/Pages:\s+(\d+)/.exec(infoOf(files.a4))?.[1]);
    expect(pages).toBeGreaterThan(3);
    for (let page = 1; page <= pages; page++) {
      const text = textOf(files.a4, page);
      expect(text).toContain('run-20260304-0805');
      expect(text).toContain(`page ${page} of ${pages}`);
      expect(text).toContain('Simulated water');
    }
  });

  test('the chain and the fingerprint stand in it as text', () => {
    const text = textOf(files.a4).replace(/\s+/g, '');
    expect(text).toContain(report.sections.at(-1) ? demoInput(run, { sealed: true }).chain?.hash : '-');
    expect(text).toContain('21fe31dfa154a261626bf854046fd227');
  });

  test('is right for A4, Letter and the label, on one sheet', () => {
    expect(infoOf(files.a4)).toMatch(/Page size:\s+595\.28 x 841\.89/);
    expect(infoOf(files.letter)).toMatch(/Page size:\s+612 x 792/);
    expect(infoOf(files.label)).toMatch(/Page size:\s+255\.118 x 170\.079/);
    expect(infoOf(files.label)).toMatch(/Pages:\s+1\n/);
    expect(infoOf(files.a4)).toMatch(/Tagged:\s+yes/);
  });

  test('its structure reads in the order of the parts', () => {
    const tree = infoOf(files.a4, '-struct-text');
    const heads = [...tree.matchAll(/H2 \(block\)\n\s+"(.*)"/g)].map((m) => m[1]);
    expect(heads).toEqual(report.sections.slice(1).map((section) => section.title));
  });

  test('letters of other alphabets are shown where the system has a font for them', async () => {
    const input = demoInput(run, { sealed: true });
    const other = makeReport({ ...input, head: { ...input.head, title: 'Łódź, Αθήνα' } });
    const file = join(folder, 'other.pdf');
    writeFileSync(file, await reportPdf(other));
    expect(textOf(file, 1)).toMatch(/Łódź, Αθήνα|\?ód\?, \?{5}/);
  });
});
