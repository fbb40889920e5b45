import { type ChildProcess, spawn, spawnSync } from 'node:child_process';

/** A pseudo-terminal pair: what is written at one path comes out at the other, as over a serial cable. */
export interface PtyPair {
  /** For the kit's side. */
  readonly kitPath: string;
  /** For the bridge's side: give it to the serial transport. */
  readonly bridgePath: string;
  /** Pull the cable: both ends hang up and their paths go. */
  unplug(): Promise<void>;
}

/** Is there a way to make pairs on this machine? (The program is `socat`.) */
export function hasPty(): boolean {
  return spawnSync('socat', ['-V']).status === 0;
}

/**
 * Make a pair with its ends at the two given paths (links; they may have existed before: that is a cable put back).
 * Rejects with what the program said when it cannot.
 */
export async function ptyPair(kitPath: string, bridgePath: string): Promise<PtyPair> {
  const end = (path: string) => `pty,raw,echo=0,link=${path}`;
  const child = spawn('socat', ['-d', '-d', end(kitPath), end(bridgePath)], { stdio: ['ignore', 'ignore', 'pipe'] });
  await started(child);
  return {
    kitPath,
    bridgePath,
    unplug: async () => {
      if (child.exitCode !== null || child.signalCode !== null) return;
      const gone = new Promise((resolve) => child.once('exit', resolve));
      child.kill();
      await gone;
    },
  };
}

function started(child: ChildProcess): Promise<void> {
  return new Promise((resolve, reject) => {
    let said = '';
    child.stderr?.on('data', (chunk: Uint8Array) => {
      said += Buffer.from(chunk).toString('utf8');
      if (said.includes('starting data transfer')) resolve();
    });
    child.once('error', reject);
    child.once('exit', () => reject(new Error(`socat ended: ${said}`)));
  });
}
