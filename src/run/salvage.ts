import { cpSync, existsSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { Problem } from '../core/message/problem.ts';
import type { Sample } from '../core/quantity/sample.ts';
import { sealEvent } from '../core/seal/named.ts';
import { samplesKept, samplesKeptSchema, sha256 } from '../store/rows.ts';
import { openStore } from '../store/open.ts';
import { salvage, type SalvagedRun, samplesOf } from '../store/salvage.ts';
import type { Store } from '../store/store.ts';
import { writeRecording } from '../recording/write.ts';

export interface RunReport {
  readonly run: string;
  /** Whole, with its chain; or as far as the chain holds, with all else that could be read as a recording of its own. */
  readonly state: 'whole' | 'part';
  /** Entries of the chain kept, and how many there were at least. */
  readonly links: number;
  readonly linksOf: number;
  /** Samples that could be read, and how many the chain says there were. */
  readonly samples: number;
  readonly samplesOf: number;
  /** Run-clock seconds that the chain says were kept and that cannot be read any more. */
  readonly lost: readonly (readonly [number, number])[];
  /** Where what does not fit the chain any more was written, beside the new store; null: nothing. */
  readonly rescued: string | null;
}

export interface SalvageReport {
  readonly runs: readonly RunReport[];
  readonly unreadable: Readonly<Record<string, number>>;
}

/**
 * Make a new data folder from a damaged one: every run that is whole as it was, of the others what can be read. The
 * damaged folder stays as it is. Throws Problem: nothing can be read, the target is taken.
 */
export function salvageInto(data: string, to: string): SalvageReport {
  if (existsSync(to) && readdirSync(to).length > 0) throw new Problem('backup-taken', { folder: to });
  const found = salvage(data);
  const store = openStore(to);
  try {
    for (const name of readdirSync(data))
      if (!/^(limpid\.(sqlite|lock)|backup$|rescued$)/.test(name))
        cpSync(join(data, name), join(to, name), { recursive: true });
    for (const certificate of found.certificates) store.addCertificate(certificate);
    return {
      runs: found.runs.map((run) => keep(store, onlyTrue(run), to, isSure(found.unreadable))),
      unreadable: found.unreadable,
    };
  } finally {
    store.close();
  }
}

/** Without the chunks that are not what their entry says: rubbish is no reading. */
function onlyTrue(run: SalvagedRun): SalvagedRun {
  const chunks = new Map(run.chunks);
  for (const { event } of run.links) {
    const kept = event.event === samplesKept ? samplesKeptSchema.safeParse(event.data).data : undefined;
    const body = kept && chunks.get(kept.chunk);
    if (kept && body && sha256(body) !== kept.sha256) chunks.delete(kept.chunk);
  }
  return { ...run, chunks };
}

/** An entry that cannot be read may have been the last of any run. */
function isSure(unreadable: Readonly<Record<string, number>>): boolean {
  return ['events', 'chunks', 'tail'].every((table) => unreadable[table] === undefined);
}

function keep(store: Store, run: SalvagedRun, to: string, sure: boolean): RunReport {
  const { head, links } = run;
  const last = links.at(-1);
  const counts = { linksOf: last ? last.index + 1 : 0, ...lostOf(run) };
  const late = [...run.chunks].filter(([n]) => n < 0).sort(([a], [b]) => b - a);
  const inTime = [...run.chunks].filter(([n]) => n >= 0).sort(([a], [b]) => a - b);
  const all = [...inTime.flatMap(([, body]) => samplesOf(body)), ...run.tail];
  const lateSamples = late.flatMap(([, body]) => samplesOf(body));
  try {
    // With something gone a run may still be whole, when its last entry says that it ended.
    if (!sure && last?.event.event !== sealEvent)
      throw new Problem('store-chain-broken', { runId: head.runId, kind: 'perhaps', index: links.length });
    store.restoreRun(head, links, all, lateSamples);
    return {
      run: head.runId,
      state: 'whole',
      links: links.length,
      samples: all.length + lateSamples.length,
      ...counts,
      rescued: null,
    };
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
  }
  const kept = growAsFar(store, run);
  const rescued = join('rescued', encodeURIComponent(head.runId).replaceAll('.', '%2E'));
  const samples = [...all, ...lateSamples].sort((a, b) => a.timeS - b.timeS).filter(rising());
  writeRecording(join(to, rescued), { context: head.context, samples, events: links.map((link) => link.event) });
  return { run: head.runId, state: 'part', links: kept, samples: samples.length, ...counts, rescued };
}

/** Entry after entry, so that the first that does not fit ends it and not the whole. */
function growAsFar(store: Store, { head, links, chunks }: SalvagedRun): number {
  let kept = 0;
  try {
    for (const link of links) kept = store.growRun(head, [link], (chunk) => chunks.get(chunk) ?? null);
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
  }
  return kept;
}

function lostOf({ links, chunks, tail }: SalvagedRun): { samplesOf: number; lost: [number, number][] } {
  let samplesOf = tail.length;
  const lost: [number, number][] = [];
  for (const { event } of links) {
    if (event.event !== samplesKept) continue;
    const kept = samplesKeptSchema.safeParse(event.data).data;
    if (!kept) continue;
    samplesOf += kept.count;
    if (!chunks.has(kept.chunk)) lost.push([kept.fromS, kept.toS]);
  }
  return { samplesOf, lost };
}

function rising(): (sample: Sample) => boolean {
  let lastS = Number.NEGATIVE_INFINITY;
  return ({ timeS }) => {
    if (timeS <= lastS) return false;
    lastS = timeS;
    return true;
  };
}
