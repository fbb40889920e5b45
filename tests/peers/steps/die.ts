import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { cpSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { z } from 'zod';
import { bundled } from '../../bundled.ts';
import type { Death, Watched } from './watch.ts';

const programs = await bundled(['tests/peers/steps/dying.ts'], 'tests/peers/steps/watched-sqlite.ts');
const watchedSchema = z.object({ steps: z.array(z.string()), unsynced: z.array(z.string()) });

export interface Worker {
  readonly child: ChildProcess;
  /** What it did, or null when it died by the signal. Rejects when it failed otherwise. */
  readonly ended: Promise<Watched | null>;
}

/** A piece of work of works.ts in a process of its own. */
export function startWork(name: string, folder: string, death: Death | null, more: readonly string[] = []): Worker {
  const words = [join(programs, 'dying.js'), name, folder, JSON.stringify(death), ...more];
  const child = spawn(process.execPath, words, { stdio: ['ignore', 'pipe', 'pipe'] });
  let said = '';
  let complaints = '';
  child.stdout.setEncoding('utf8').on('data', (text: string) => (said += text));
  child.stderr.setEncoding('utf8').on('data', (text: string) => (complaints += text));
  const ended = once(child, 'close').then(() => {
    if (child.signalCode === 'SIGKILL') return null;
    if (child.exitCode !== 0) throw new Error(`${name} failed: ${complaints}`);
    return watchedSchema.parse(JSON.parse(said));
  });
  return { child, ended };
}

/**
 * Let a piece of work die before each of its steps, one death after another, each on a fresh copy of `template`, and
 * look each time at what is left. Returns how many steps there were, and what a power cut could have emptied.
 */
export async function dieAtEachStep(
  name: string,
  template: string,
  look: (folder: string, before: string) => void,
): Promise<{ readonly steps: number; readonly unsynced: readonly string[] }> {
  const root = mkdtempSync(join(tmpdir(), `limpid-steps-${name}-`));
  try {
    const fresh = (n: number): string => {
      const folder = join(root, String(n));
      cpSync(template, folder, { recursive: true });
      return folder;
    };
    const whole = await startWork(name, fresh(0), null).ended;
    if (!whole) throw new Error(`${name} was killed by another`);
    look(join(root, '0'), 'nothing');
    for (const [i, before] of whole.steps.entries()) {
      const folder = fresh(i + 1);
      if (await startWork(name, folder, { before: '', nth: i + 1 }).ended)
        throw new Error(`${name} took another way than before, with fewer than ${i + 1} steps`);
      try {
        look(folder, before);
      } catch (error) {
        throw new Error(`${name}, killed before step ${i + 1} (${before}): ${String(error)}`, { cause: error });
      }
      rmSync(folder, { recursive: true, force: true });
    }
    console.log(`${name}: killed before each of ${whole.steps.length} steps`);
    return { steps: whole.steps.length, unsynced: whole.unsynced };
  } finally {
    rmSync(root, { recursive: true, force: true });
  }
}
