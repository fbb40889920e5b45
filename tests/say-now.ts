import { writeSync } from 'node:fs';

const moment = new Int32Array(new SharedArrayBuffer(4));

/**
 * Writes a line to standard output, whole before it returns: who says it may be killed the next moment. A pipe whose reader
 * is busy takes nothing for a while (EAGAIN), and is waited for.
 */
export function sayNow(line: string): void {
  let left: Uint8Array = new TextEncoder().encode(`${line}\n`);
  while (left.length > 0) {
    try {
      left = left.subarray(writeSync(1, left));
    } catch (error) {
      if (!(error instanceof Error && 'code' in error && error.code === 'EAGAIN')) throw error;
      Atomics.wait(moment, 0, 0, 5);
    }
  }
}
