import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll } from 'vitest';
import { Problem } from '../../../src/core/message/problem.ts';
import { readRecording } from '../../../src/recording/recording.ts';

export const root = mkdtempSync(join(tmpdir(), 'limpid-recording-'));
afterAll(() => rmSync(root, { recursive: true, force: true }));
let n = 0;

/** A place that is not there yet. */
export function newPlace(): string {
  n += 1;
  return join(root, String(n));
}

export const header = 'time_s,turbidity_ntu,flow_lpm,pressure_bar,temperature_c,conductivity_us_cm';
export const context = {
  emitters: [
    { id: 'hall', name: 'Hall', volume_l: 6.5 },
    { id: 'loft', name: 'Loft', volume_l: 4, path_l: 7.25 },
  ],
  loop_volume_l: 80,
  return_volume_l: 9,
  mains: { turbidity_ntu: 0.3, conductivity_us_cm: 310 },
  sample_hz: 10,
};

/** A folder with these files; `null` leaves one out. */
export function folderWith(files: Readonly<Record<string, string | Uint8Array | null>>): string {
  const folder = newPlace();
  mkdirSync(folder, { recursive: true });
  const all = {
    'recording.csv': `${header}\n0,1,12,1.2,40,400\n1,2,12,1.2,40,400\n`,
    'events.csv': 'time_s,event,emitter,note\n0.5,emitter-open,hall,\n',
    'context.json': JSON.stringify(context),
    ...files,
  };
  for (const [name, text] of Object.entries(all)) if (text !== null) writeFileSync(join(folder, name), text);
  return folder;
}

/** Why a recording is refused; throws where it is not. */
export function problemOf(folder: string): Problem {
  try {
    readRecording(folder);
  } catch (error) {
    if (error instanceof Problem) return error;
    throw error;
  }
  throw new Error('nothing was wrong');
}
