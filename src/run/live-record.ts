import { contextNow } from '../core/job/context-now.ts';
import { workedOut } from '../core/job/stages/worked.ts';
import { Problem } from '../core/message/problem.ts';
import type { Driven, Level } from '../core/audit/drive.ts';
import { makeReport } from '../report/model.ts';
import type { PaperSize } from '../report/paper.ts';
import { reportPdf } from '../report/pdf.ts';
import { sealRun } from '../recording/sealed.ts';
import { inFours } from '../core/seal/seal.ts';
import type { RecordPort } from '../server/record-routes.ts';
import type { RunStore } from '../store/store.ts';
import { reportOfRun } from './report-input.ts';
import { readyToSeal } from './seal-when.ts';
import type { Run } from './run.ts';

/**
 * The record of the run under way, for the pages: its report at any time, and its seal. The report goes by what the run
 * has worked out already, so that a draft costs a moment and not the whole run over again.
 */
export function liveRecord(run: Run, store: RunStore, data: string, wallMs: () => number): RecordPort {
  const now = (): string => new Date(wallMs()).toISOString();
  const drawn = new Map<PaperSize, { readonly atMs: number; readonly pdf: Promise<Uint8Array> }>();
  return {
    reportPdf(paper: PaperSize): Promise<Uint8Array> {
      // The run goes first: however many pages ask, a draft is drawn once in a while only.
      const last = drawn.get(paper);
      if (last && wallMs() - last.atMs < freshMs) return last.pdf;
      const input = { ...reportOfRun(store, { data }, now()), driven: drivenOf(run, store) };
      const pdf = reportPdf(makeReport(input), paper);
      drawn.set(paper, { atMs: wallMs(), pdf });
      return pdf;
    },
    seal(by: string, who: string, unfinished: boolean) {
      try {
        if (!unfinished) readyToSeal(store);
        const seal = sealRun(data, store, { by, who, timeS: store.lastTimeS(), wallAt: now() });
        run.closeRecord();
        drawn.clear();
        return { sealedAt: seal.sealed_at, head: inFours(seal.head), key: seal.key };
      } catch (error) {
        if (!(error instanceof Problem)) throw error;
        const conflict = ['seal-already', 'seal-not-ended', 'seal-no-samples'].includes(error.code);
        return { status: conflict ? 409 : 503, code: error.code, text: error.message };
      }
    },
  };
}

/** A draft is shown again for so long. */
const freshMs = 3000;

/** What the live run holds, in the shape of a run driven anew. */
function drivenOf(run: Run, store: RunStore): Driven {
  const { analysis, spans, trace, state } = run.course;
  const context = contextNow(store.head.context, state.job);
  const levels: Level[] = [];
  for (const row of trace.between(0, Number.POSITIVE_INFINITY)) {
    const [timeS] = row;
    if (timeS - (levels.at(-1)?.timeS ?? Number.NEGATIVE_INFINITY) < 1) continue;
    levels.push({ timeS, backgroundNtu: row[8], clearNtu: row[9] });
  }
  const { visits, rinse, notices } = analysis;
  const live = run.course.live(store.lastTimeS());
  const worked = workedOut(state.job, live, context, rinse?.verdict ?? null);
  return { context, job: state.job, live, worked, visits, rinse, notices, spans: [...spans], levels };
}
