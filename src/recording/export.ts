import type { RunStore } from '../store/store.ts';
import { writeRecording } from './write.ts';

/**
 * Write a run of the store into `folder` as a recording with its chain; all samples so far enter the chain first.
 * Throws Problem: the folder holds something else, or cannot be written; the store cannot be written.
 *
 * @param beside folder in which the run's own `files/` lies; without it the record goes out without them
 */
export function exportRun(run: RunStore, folder: string, beside?: string): void {
  run.keepSamples();
  writeRecording(folder, {
    chain: { head: run.head, links: run.events() },
    samples: run.samples(),
    late: run.late(),
    ...(beside === undefined ? {} : { beside }),
  });
}
