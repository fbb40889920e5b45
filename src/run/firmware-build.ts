import { execFile, spawnSync } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { Problem } from '../core/message/problem.ts';

/** The firmware's folder of this checkout, from the bundle or from source. */
function firmwareFolder(): string | null {
  let at = dirname(fileURLToPath(import.meta.url));
  for (;;) {
    const folder = join(at, 'firmware-bridge', 'firmware');
    if (existsSync(join(folder, 'Makefile'))) return folder;
    if (dirname(at) === at) return null;
    at = dirname(at);
  }
}

function has(command: string): boolean {
  return spawnSync(command, ['--version'], { stdio: 'ignore' }).status === 0;
}

/**
 * The firmware of the ATmega328P-class board as Intel HEX, built when it is not yet. Throws Problem: no checkout, no
 * compiler (with what to install), a build that failed (with what the compiler said).
 */
export async function firmwareHex(): Promise<string> {
  const folder = firmwareFolder();
  if (folder === null) throw new Problem('firmware-no-source');
  const missing = ['make', 'avr-g++'].filter((tool) => !has(tool));
  if (missing.length > 0) throw new Problem('firmware-no-compiler', { missing: missing.join(', ') });
  await new Promise<void>((resolve, reject) => {
    execFile('make', ['-s', 'avr'], { cwd: folder, timeout: 120_000 }, (error, _stdout, stderr) => {
      if (error) reject(new Problem('firmware-build', { detail: (stderr || error.message).trim().slice(-600) }));
      else resolve();
    });
  });
  return readFileSync(join(folder, 'build', 'kit.hex'), 'utf8');
}
