import { useEffect, useState } from 'preact/hooks';
import type { ExportJob, TakenIn } from '../../src/core/audit/page-schema.ts';
import { bridge, exportAddress, type RunsQuery } from './client.ts';
import { tried } from './model.ts';
import { hashOf } from './place.ts';
import { plural } from './words.ts';

/** What can be done with several runs. */
export function Together({ chosen, query, total }: { chosen: readonly string[]; query: RunsQuery; total: number }) {
  const [job, setJob] = useState<ExportJob | null>(null);
  const [lot, setLot] = useState<{ seed: string; of: number; runs: string[] } | null>(null);
  useEffect(() => {
    if (job?.state !== 'working') return undefined;
    const timer = setTimeout(
      () => void tried(() => bridge.exportJob(job.id)).then((found) => found && setJob(found)),
      400,
    );
    return () => clearTimeout(timer);
  }, [job]);
  return (
    <section class="together" aria-label="Several runs">
      <button
        type="button"
        disabled={chosen.length < 2 || chosen.length > 12}
        onClick={() => {
          location.hash = hashOf({ page: 'side-by-side', runIds: chosen });
        }}
      >
        Set {chosen.length > 1 ? chosen.length : 'the chosen'} side by side
      </button>
      <button
        type="button"
        disabled={chosen.length === 0}
        onClick={() => void tried(() => bridge.startExport(chosen)).then((begun) => begun && setJob(begun))}
      >
        Take copies of the chosen
      </button>
      <button
        type="button"
        disabled={total === 0}
        onClick={() => void tried(() => bridge.byLot({ ...query, count: 5 })).then((drawn) => drawn && setLot(drawn))}
      >
        Draw five to check again
      </button>
      {job !== null && (
        <p role="status">
          {job.state === 'working' && (
            <>
              <progress value={job.done} max={job.total} /> {job.done} of {job.total} packed
            </>
          )}
          {job.state === 'ready' && (
            <a href={exportAddress(job.id)} download>
              runs.zip, {plural(job.total - job.refused.length, 'run')}, {Math.max(1, Math.round(job.bytes / 1000))} kB
            </a>
          )}
          {job.state === 'failed' && 'The copies could not be made. '}
          {job.refused.map(({ runId, why }) => (
            <span class="warn" key={runId}>
              {' '}
              {runId} {why}
            </span>
          ))}
        </p>
      )}
      {lot !== null && (
        <p>
          By lot, of {lot.of} (seed {lot.seed}):{' '}
          {lot.runs.map((runId, i) => (
            <span key={runId}>
              {i > 0 ? ', ' : ''}
              <a href={hashOf({ runId })}>{runId}</a>
            </span>
          ))}
        </p>
      )}
    </section>
  );
}

/** Recordings as zip, taken in one after another, with what was refused and why. */
export function TakeIn({ done }: { done: () => void }) {
  const [told, setTold] = useState<TakenIn | null>(null);
  const [busy, setBusy] = useState('');
  const take = async (files: readonly File[]): Promise<void> => {
    const all: TakenIn = { taken: [], refused: [] };
    for (const [i, file] of files.entries()) {
      setBusy(`${i + 1} of ${files.length}: ${file.name}`);
      const one = await tried(() => bridge.takeIn(file));
      all.taken.push(...(one?.taken ?? []));
      all.refused.push(...(one?.refused ?? []));
    }
    setBusy('');
    setTold(all);
    done();
  };
  return (
    <section class="take-in">
      <label>
        Take recordings in (zip; several at once)
        <input
          type="file"
          accept=".zip"
          multiple
          disabled={busy !== ''}
          onChange={(event) => {
            const files = [...(event.currentTarget.files ?? [])];
            event.currentTarget.value = '';
            void take(files);
          }}
        />
      </label>
      {busy !== '' && <p role="status">{busy}</p>}
      {told !== null && (
        <ul class="told" role="status">
          {told.taken.map(({ from, runId, known, remarks }) => (
            <li key={from}>
              {from}: <a href={hashOf({ runId })}>{runId}</a>
              {known ? ', which was here already' : ''}
              {remarks.length > 0 && (
                <ul>
                  {remarks.map((remark) => (
                    <li key={remark}>{remark}</li>
                  ))}
                </ul>
              )}
            </li>
          ))}
          {told.refused.map(({ from, why }) => (
            <li class="warn" key={from}>
              {from} was refused. {why}
            </li>
          ))}
        </ul>
      )}
    </section>
  );
}
