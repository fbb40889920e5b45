import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import type { CommentView, LookedAtRun, RunPage } from '../../core/audit/page-schema.ts';
import { channels } from '../../core/quantity/channels.ts';
import { exportZip, fileNameOf } from '../../recording/bulk.ts';
import { eventLines, sampleLines } from '../../recording/write.ts';
import type { ReportInput } from '../../report/gather.ts';
import type { Download, FileOptions, RunFile } from '../../server/audit-port.ts';
import { type Columns, samplesOf } from '../../store/decimate.ts';
import { samplesKept } from '../../store/rows.ts';
import type { RunStore } from '../../store/store.ts';
import { chartSvg } from './chart-file.ts';
import { spoken } from './comment-words.ts';
import { findingsCsv, visitsCsv } from './tables.ts';
import { channelsWithValues } from './traces.ts';

/** What is known of the run, each made when it is needed. */
export interface KnownRun {
  readonly data: string;
  columns(): Columns;
  /** Held against chain and seal. */
  record(): Promise<Omit<ReportInput, 'samples'>>;
  /** As worked out last; null: not yet. */
  kept(): LookedAtRun | null;
  /** As the record stands now. */
  looked(): Promise<LookedAtRun>;
  page(): RunPage;
  comments(): CommentView[];
}

/** A file of a run, for whoever takes it along. Throws Problem. */
export async function fileOfRun(
  known: KnownRun,
  run: RunStore,
  file: RunFile,
  options: FileOptions,
): Promise<Download> {
  const { runId } = run.head;
  const name = `${fileNameOf(runId)}-${file}`;
  const text = (type: string, content: string): Download => ({
    type: `${type}; charset=utf-8`,
    name,
    content: { bytes: Buffer.from(content, 'utf8') },
  });
  switch (file) {
    case 'recording.zip':
      return { type: 'application/zip', name: `${fileNameOf(runId)}.zip`, content: { path: zipOf(known.data, run) } };
    case 'recording.csv': {
      const used = channels.filter((c) => channelsWithValues(known.columns()).includes(c.key));
      return text('text/csv', `${[...sampleLines([...run.samples()], used)].join('\n')}\n`);
    }
    case 'events.csv': {
      const events = run.events().flatMap((e) => (e.event.event === samplesKept ? [] : [e.event]));
      return text('text/csv', `${[...eventLines(events)].join('\n')}\n`);
    }
    case 'visits.csv':
      return text('text/csv', visitsCsv(await known.looked()));
    case 'findings.csv':
      return text('text/csv', findingsCsv(await known.looked(), known.comments()));
    case 'run.json':
      await known.looked();
      return text('application/json', JSON.stringify(known.page(), null, 2));
    case 'chart.svg':
      return text('image/svg+xml', chartOf(known, run, options));
    case 'report.pdf':
    case 'report.html':
      return await reportOf(known, file, name, options);
  }
}

function zipOf(data: string, run: RunStore): string {
  const folder = join(data, 'exports');
  mkdirSync(folder, { recursive: true });
  const path = join(folder, `${fileNameOf(run.head.runId)}.run.zip`);
  exportZip(data, run, path);
  return path;
}

function chartOf(known: KnownRun, run: RunStore, options: FileOptions): string {
  const columns = known.columns();
  const keys = channelsWithValues(columns).filter(
    (key) => options.channels.length === 0 || options.channels.includes(key),
  );
  const endS = Math.max(1, run.lastTimeS());
  const fromS = Math.max(0, Math.min(options.fromS ?? 0, endS - 1));
  const toS = Math.max(fromS + 1, Math.min(options.toS ?? endS, endS));
  return chartSvg(run.head.title || run.head.runId, columns, keys, fromS, toS, known.kept());
}

async function reportOf(known: KnownRun, file: RunFile, name: string, options: FileOptions): Promise<Download> {
  const { makeReport } = await import('../../report/model.ts');
  const input = { ...(await known.record()), samples: [...samplesOf(known.columns())] };
  const comments = known.comments().map((c) => ({ by: c.by, text: spoken(c), written_at: c.writtenAt }));
  const made = makeReport({ ...input, comments });
  if (file === 'report.html') {
    const { reportHtml } = await import('../../report/html.ts');
    return { type: 'text/html; charset=utf-8', name, content: { bytes: Buffer.from(reportHtml(made), 'utf8') } };
  }
  const { reportPdf } = await import('../../report/pdf.ts');
  return { type: 'application/pdf', name, content: { bytes: await reportPdf(made, options.paper) } };
}
