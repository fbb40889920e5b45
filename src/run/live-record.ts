import type { RunEvent } from '../core/job/event.ts';
import { contextNow } from '../core/job/context-now.ts';
import { workedOut } from '../core/job/stages/worked.ts';
import { createTeller } from '../core/message/message.ts';
import { Problem } from '../core/message/problem.ts';
import type { Driven, Level } from '../core/audit/drive.ts';
import { labelPdf } from '../report/label.ts';
import { makeReport, type Report } from '../report/model.ts';
import type { PaperSize } from '../report/paper.ts';
import { reportPdf } from '../report/pdf.ts';
import { filesNamed, keepDetails, keepPhoto, readNamed, runFolder, typeOf } from '../recording/run-files.ts';
import { addComment, readComments, sealedFolder, sealOf, sealRun } from '../recording/sealed.ts';
import { verifyStored } from '../recording/stored.ts';
import { signingKey } from '../recording/signing-key.ts';
import { type SealNamed, sealNamed } from '../core/seal/named.ts';
import { fingerprint, inFours, type Seal } from '../core/seal/seal.ts';
import type { Refusal } from '../server/port.ts';
import type { RecordState } from '../server/protocol.ts';
import type { RecordPort } from '../server/record-routes.ts';
import { sha256 } from '../store/rows.ts';
import type { RunStore } from '../store/store.ts';
import type { RunClock } from './clock.ts';
import { reportOfRun } from './report-input.ts';
import { readyToSeal } from './seal-when.ts';
import type { Run } from './run.ts';

/**
 * The record of the run under way, for the pages: its report at any time, its photos, and its seal. The report goes by
 * what the run has worked out already, so that a draft costs a moment and not the whole run over again.
 */
export function liveRecord(run: Run, store: RunStore, data: string, clock: Pick<RunClock, 'wallMs'>): RecordPort {
  const { runId } = store.head;
  const now = (): string => new Date(clock.wallMs()).toISOString();
  const drawn = new Map<PaperSize, { readonly atMs: number; readonly pdf: Promise<Uint8Array> }>();
  const report = (): Report => makeReport({ ...reportOfRun(store, { data }, now()), driven: drivenOf(run, store) });
  let checked: RecordState['check'] = null;
  const draw = (paper: PaperSize): Promise<Uint8Array> => {
    // The run goes first: however many pages ask, a draft is drawn once in a while only.
    const last = drawn.get(paper);
    // A clock that was set back must not keep a draft for a year.
    if (last && Math.abs(clock.wallMs() - last.atMs) < freshMs) return last.pdf;
    const pdf = paper === 'label' ? labelPdf(report()) : reportPdf(report(), paper);
    drawn.set(paper, { atMs: clock.wallMs(), pdf });
    return pdf;
  };
  return {
    reportPdf: draw,
    labelPdf: () => draw('label'),
    seal: (by, who, unfinished) =>
      orRefusal(() => {
        if (!unfinished) readyToSeal(store);
        const engineer = run.course.state.job.handedOver?.data['engineer'];
        // A sealing that was cut short is ended by who began it.
        const name = by || sealBegun(store)?.by || (typeof engineer === 'string' && engineer.trim()) || 'not named';
        let seal: Seal;
        try {
          seal = sealRun(data, store, { by: name, who, timeS: store.lastTimeS(), wallAt: now() });
        } finally {
          // Its entry closes the record, whether the rest could be written or not.
          if (sealBegun(store)) run.closeRecord();
        }
        drawn.clear();
        return { sealedAt: seal.sealed_at, head: inFours(seal.head), key: seal.key };
      }),
    state: () =>
      orRefusal(() => {
        // A sealed record never changes: it is checked once.
        checked ??= sealOf(data, runId)?.seal ? checkOf(data, store) : null;
        return { ...stateOf(data, runId), check: checked };
      }),
    comment: (by, text) =>
      orRefusal(() => {
        const comment = { by, text, written_at: now() };
        addComment(data, runId, comment);
        drawn.clear();
        return comment;
      }),
    addPhoto: ({ id, what, emitter, bytes }, who) =>
      orRefusal(() => {
        const photo = keepPhoto(data, runId, bytes);
        const asked = { event: 'photo', emitter, note: what, data: { ...photo } };
        const answer = run.photo(id, asked, who);
        return 'status' in answer ? answer : { file: photo.file, sha256: photo.sha256 };
      }),
    photo(name) {
      const file = `files/${name}`;
      const named = filesNamed(store.events().map((e) => e.event)).find((n) => n.file === file);
      const bytes = named ? readNamed(runFolder(data, runId), named) : null;
      return bytes && { bytes, type: typeOf(file) };
    },
  };
}

/** Who sealed, or began to, as the record's last entry says; null: nobody. */
function sealBegun(store: RunStore): SealNamed | null {
  return sealNamed(store.links(store.linkCount() - 1, 1)[0]);
}

/** Conflicts with how the run stands, and what was wrong with what was sent; all else is the machine's. */
const conflicts = new Set([
  'seal-already',
  'seal-by-other',
  'seal-not-ended',
  'seal-no-samples',
  'seal-none',
  'seal-run-closed',
]);
const wrongs = new Set(['photo-kind', 'photo-large', 'seal-comment-empty']);

function orRefusal<T>(make: () => T): T | Refusal {
  try {
    return make();
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
    const status = conflicts.has(error.code) ? 409 : wrongs.has(error.code) ? 400 : 503;
    return { status, code: error.code, text: error.message, params: error.params };
  }
}

function stateOf(data: string, runId: string): Omit<RecordState, 'check'> {
  const folder = sealedFolder(data, runId);
  const check = sealOf(data, runId);
  const print = fingerprint(signingKey(data).key, sha256);
  if (!check?.seal) return { fingerprint: print, seal: null, comments: [] };
  const seal = { sealedAt: check.seal.sealed_at, head: inFours(check.seal.head), fingerprint: check.fingerprint };
  return { fingerprint: print, seal, comments: readComments(folder) };
}

/** What `limpid verify` says of the sealed record, and what is found against the run that the store holds. */
function checkOf(data: string, run: RunStore): RecordState['check'] {
  const { faults, sealed } = verifyStored(data, run);
  const { say, said } = createTeller();
  return {
    sound: sealed?.sound === true && faults.length === 0,
    entries: sealed?.chain?.intact ? sealed.chain.end.count : 0,
    rows: sealed?.samples.chained ?? 0,
    faults: faults.map(say),
    said,
  };
}

/** The names of client and place go into a file of their own; the entry holds its hash. */
export function detailsApart(data: string, runId: string, event: RunEvent): RunEvent {
  if (event.event !== 'hand-over') return event;
  const { client = '', site = '', ...rest } = event.data ?? {};
  if (client === '' && site === '') return event;
  return { ...event, data: { ...rest, ...keepDetails(data, runId, { client: String(client), site: String(site) }) } };
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
  const worked = workedOut(state.job, live, context, rinse?.verdict ?? null, analysis.settings);
  return {
    context,
    job: state.job,
    live,
    worked,
    visits,
    rinse,
    notices,
    spans: [...spans],
    levels,
    alarms: run.course.alarms.rises,
  };
}
