#!/usr/bin/env node
import { existsSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { main } from './main.ts';

const here = dirname(fileURLToPath(import.meta.url));
// Beside the bundle when built; in the checkout's dist when run from source.
const webRoot = existsSync(join(here, 'web')) ? join(here, 'web') : join(here, '../../dist/web');

// A reader that went away (`limpid runs | head`) is no fault.
process.stdout.on('error', (error: NodeJS.ErrnoException) => process.exit(error.code === 'EPIPE' ? 0 : 1));

/** Ctrl-C asks to stop; a second one does not wait. */
function stopAsked(): Promise<void> {
  return new Promise((resolve) => {
    let asked = false;
    const ask = (): void => {
      if (asked) process.exit(130);
      asked = true;
      resolve();
    };
    process.on('SIGINT', ask);
    process.on('SIGTERM', ask);
  });
}

// Its words alone: what a library hangs on an error can be a login.
process.on('uncaughtException', (error: unknown) => {
  process.stderr.write(`Limpid met a fault of its own: ${error instanceof Error ? error.stack : String(error)}\n`);
  process.exit(1);
});

process.exitCode = await main(process.argv.slice(2), {
  webRoot,
  stdout: process.stdout,
  stderr: process.stderr,
  stopped: stopAsked,
});
