import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { createHash } from 'node:crypto';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect } from 'vitest';
import { verifyChain } from '../../src/core/seal/verify.ts';
import { exportRun, verifyRecording } from '../../src/recording/recording.ts';
import { openStore } from '../../src/store/open.ts';
import { bundled } from '../bundled.ts';
import { headOf } from '../contracts/store.contract.ts';

const writer = join(await bundled(['tests/faults/store-writer.ts']), 'store-writer.js');
const sha256 = (text: string): string => createHash('sha256').update(text).digest('hex');

/** What a writer said before it died. */
interface Words {
  readonly events: string[];
  readonly flushedS: number;
  readonly offeredS: number;
}

/** How a writer dies: killed some time after it began, or by itself just before its Nth step of writing. */
export type Death = { readonly afterMs: number } | { readonly beforeStep: number };

async function writeAndKill(folder: string, prefix: string, death: Death): Promise<Words> {
  const step = 'beforeStep' in death ? [String(death.beforeStep)] : [];
  const child = spawn(process.execPath, [writer, folder, prefix, ...step], {
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  let said = '';
  let timer: NodeJS.Timeout | undefined;
  child.stdout.setEncoding('utf8').on('data', (text: string) => {
    said += text;
    if ('afterMs' in death && !timer && said.includes('ready'))
      timer = setTimeout(() => child.kill('SIGKILL'), death.afterMs);
  });
  await once(child, 'close');
  expect(child.signalCode).toBe('SIGKILL');
  // The last line may be cut: what it would have said is not known to be kept.
  const lines = said.slice(0, said.lastIndexOf('\n') + 1).split('\n');
  const last = (word: string): number => Number(lines.findLast((l) => l.startsWith(word))?.split(' ')[1] ?? 0);
  const events = lines.filter((l) => l.startsWith('event ')).map((l) => l.slice(6));
  return { events, flushedS: last('flush '), offeredS: last('offered ') };
}

/**
 * Let one writer after another die and look each time at what is left: every event that was acknowledged, once; an
 * intact chain; every sample that was committed, once, and none later than was offered.
 */
export async function killLoops(deaths: readonly Death[]): Promise<{ events: number; samples: number }> {
  const root = mkdtempSync(join(tmpdir(), 'limpid-kill-'));
  const folder = join(root, 'data');
  const first = openStore(folder);
  first.createRun(headOf('r1'));
  first.close();
  const acknowledged: string[] = [];
  let events = 0;
  let samples = 0;
  try {
    for (const [loop, death] of deaths.entries()) {
      const words = await writeAndKill(folder, `p${loop}`, death);
      acknowledged.push(...words.events);
      const store = openStore(folder);
      const run = store.openRun('r1');
      if (!run) throw new Error('run r1 is gone');
      const links = run.events();
      const verdict = verifyChain(run.head, links, sha256);
      expect(verdict).toMatchObject({ intact: true });
      const kept = links.map((l) => l.id).filter((id) => !id.startsWith('samples-kept'));
      const keptIds = new Set(kept);
      expect(keptIds.size).toBe(kept.length);
      // At most one event was committed whose acknowledgement the kill cut off.
      const known = new Set(acknowledged);
      expect(acknowledged.filter((id) => !keptIds.has(id))).toEqual([]);
      expect(kept.filter((id) => !known.has(id) && id.startsWith(`p${loop}-`)).length).toBeLessThanOrEqual(1);
      for (const id of kept) if (!known.has(id)) acknowledged.push(id);
      const times = [...run.samples()].map((s) => s.timeS);
      // The writer makes a sample each 0.1 s of its clock and commits 20 at a time: none is missing, none doubled.
      expect(times.findIndex((timeS, i) => timeS !== (i + 1) / 10)).toBe(-1);
      const lastS = times.at(-1) ?? 0;
      expect(lastS).toBeGreaterThanOrEqual(words.flushedS);
      if (words.offeredS > 0) expect(lastS).toBeLessThanOrEqual(words.offeredS + 2);
      events = kept.length;
      samples = times.length;
      if (loop === deaths.length - 1) {
        exportRun(run, join(root, 'export'));
        expect(verifyRecording(join(root, 'export'))).toMatchObject({ sound: true });
      }
      store.close();
    }
  } finally {
    rmSync(root, { recursive: true, force: true });
  }
  return { events, samples };
}
