import { causeOf } from '../../core/message/cause.ts';
import { existsSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { say } from '../../core/message/message.ts';
import { Problem } from '../../core/message/problem.ts';
import type { ReportInput } from '../../report/gather.ts';
import type { Report } from '../../report/model.ts';
import { type Command, dataOption, type Input, textOption, WrongUse } from '../command.ts';
import { dataFolder, withStore } from '../with-store.ts';

/** What a run was, for the client and the auditor. */
export const report: Command = {
  name: 'report',
  summary: 'Write the report of a run or of a recording: a draft until the run is sealed.',
  args: [{ name: 'subject', about: 'id of a run, or a folder with a recording' }],
  options: [
    { flags: '--out <file>', about: 'where to write; made anew if it is there' },
    { flags: '--paper <size>', about: 'a4 (default) or letter' },
    { flags: '--html', about: 'one page for a browser, which needs nothing else' },
    { flags: '--label', about: 'the label for beside the heat source, 90 x 60 mm' },
    { flags: '--keys <file>', about: 'trusted keys (default: known-keys.txt of the data folder)' },
    dataOption,
  ],
  examples: [
    'limpid report run-20260102-0304 --out report.pdf',
    'limpid report for-the-office --out report.html --html',
    'limpid report run-20260102-0304 --out label.pdf --label',
  ],
  async run(input) {
    const { args, options, out } = input;
    const subject = args[0] ?? '';
    const file = textOption(options, 'out');
    if (file === undefined) throw new WrongUse('Where to? Name a file with --out.');
    const paper = textOption(options, 'paper') ?? 'a4';
    if (paper !== 'a4' && paper !== 'letter') throw new WrongUse(`--paper is a4 or letter; got "${paper}".`);
    const { makeReport } = await import('../../report/model.ts');
    const made = makeReport(await readSubject(input, subject));
    const bytes = await draw(options, made, paper);
    try {
      writeFileSync(file, bytes);
    } catch (error) {
      const detail = causeOf(error);
      throw new Problem('report-open', { file, detail }, { cause: error });
    }
    const marks = made.marks.length > 0 ? ` Marked: ${made.marks.join('; ')}.` : '';
    out.result(
      { run: made.runId, file, bytes: bytes.length, marks: made.marks, exceptions: made.exceptions.length },
      `The report of ${made.runId} is in ${file}.${marks} ${made.headline}`,
    );
    return 0;
  },
};

async function draw(options: Input['options'], made: Report, paper: 'a4' | 'letter'): Promise<Uint8Array> {
  if (options['html'] === true) {
    const { reportHtml } = await import('../../report/html.ts');
    return Buffer.from(reportHtml(made), 'utf8');
  }
  if (options['label'] === true) return await (await import('../../report/label.ts')).labelPdf(made);
  return await (await import('../../report/pdf.ts')).reportPdf(made, paper);
}

async function readSubject({ options, out }: Input, subject: string): Promise<ReportInput> {
  const { reportOfRecording, reportOfRun } = await import('../../run/report-input.ts');
  const data = dataFolder(options);
  const keys = textOption(options, 'keys');
  const trust = keys === undefined ? { data } : { data, keys };
  const now = new Date().toISOString();
  if (existsSync(join(subject, 'recording.csv')))
    return reportOfRecording(subject, trust, now, (remark) => out.say(say(remark)));
  if (!existsSync(data)) throw new Problem('report-no-subject', { subject });
  let found: ReportInput | null = null;
  await withStore(options, (store) => {
    const run = store.openRun(subject);
    if (run) found = reportOfRun(run, trust, now);
    return 0;
  });
  if (found === null) throw new Problem('report-no-subject', { subject });
  return found;
}
