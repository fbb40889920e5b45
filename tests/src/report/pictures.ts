// Pictures of the report, made anew: npx tsx tests/src/report/pictures.ts [folder] [--all]
// Without --all only the two that the documents show; with it every page, a half-done run, and one of twenty emitters on
// Letter in psi and gallons. The run is simulated, and says so.
import { execFileSync } from 'node:child_process';
import { copyFileSync, mkdirSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { reportHtml } from '../../../src/report/html.ts';
import { labelPdf } from '../../../src/report/label.ts';
import { makeReport } from '../../../src/report/model.ts';
import { reportPdf } from '../../../src/report/pdf.ts';
import { demoInput, demoRun } from './demo-run.ts';
import { halfDone, twentyEmitters } from './demo-variants.ts';

const usUnits = { pressure: 'psi', flow: 'US gal/min', volume: 'US gal', temperature: '°F' };
const folder = process.argv[2]?.startsWith('--') === false ? process.argv[2] : 'docs/pictures';
const all = process.argv.includes('--all');
const work = mkdtempSync(join(tmpdir(), 'limpid-report-'));
mkdirSync(folder, { recursive: true });

const report = makeReport(demoInput(demoRun(), { sealed: true }));
const american = { timeS: 1, event: 'units', emitter: '', note: '', data: usUnits };
const variants = {
  half: { run: halfDone(demoRun()), paper: 'a4' },
  twenty: { run: twentyEmitters(), paper: 'letter' },
} as const;
writeFileSync(join(work, 'report.pdf'), await reportPdf(report, 'a4'));
execFileSync('pdftoppm', ['-r', '100', '-png', join(work, 'report.pdf'), join(work, 'page')]);
const pages = readdirSync(work)
  .filter((name) => name.endsWith('.png'))
  .sort();
const emitters = 1 + pages.findIndex((_, i) => textOf(i + 1).includes('Clear: the water of the last pass'));

function textOf(page: number): string {
  return execFileSync('pdftotext', ['-f', `${page}`, '-l', `${page}`, join(work, 'report.pdf'), '-'], {
    encoding: 'utf8',
  });
}

copyFileSync(join(work, pages[0] ?? ''), join(folder, 'report-summary.png'));
copyFileSync(join(work, pages[emitters - 1] ?? ''), join(folder, 'report-emitters.png'));
if (all) {
  for (const [name, { run, paper }] of Object.entries(variants)) {
    const events = paper === 'letter' ? [american, ...run.events] : run.events;
    const made = makeReport(demoInput({ ...run, events }, { sealed: name === 'twenty' }));
    const file = join(folder, `report-${name}.pdf`);
    writeFileSync(file, await reportPdf(made, paper));
    execFileSync('pdftoppm', ['-r', '80', '-png', file, join(folder, `report-${name}`)]);
  }
  for (const page of pages) copyFileSync(join(work, page), join(folder, `report-${page}`));
  writeFileSync(join(folder, 'report.html'), reportHtml(report));
  writeFileSync(join(folder, 'label.pdf'), await labelPdf(report));
  copyFileSync(join(work, 'report.pdf'), join(folder, 'report.pdf'));
}
rmSync(work, { recursive: true });
