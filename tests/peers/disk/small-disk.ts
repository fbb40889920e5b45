import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { closeSync, mkdirSync, mkdtempSync, openSync, rmSync, truncateSync, writeFileSync, writeSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { until } from '../../contracts/transport-clocks.ts';

const needed = ['unshare', 'nsenter', 'mkfs.ext4', 'losetup'];

/** A disk of one's own needs root, and a machine that lets it mount. */
export function hasSmallDisks(): boolean {
  if (process.getuid?.() !== 0 || needed.some((name) => spawnSync('which', [name]).status !== 0)) return false;
  return spawnSync('unshare', ['-m', 'sh', '-c', 'mount -t tmpfs none /mnt && losetup -f']).status === 0;
}

export interface OnDisk {
  readonly child: ChildProcess;
  said(): string;
  /** Resolves to the exit code, null where a signal ended it. */
  stop(signal: 'SIGINT' | 'SIGKILL'): Promise<number | null>;
  readonly ended: Promise<number | null>;
}

/** A real file system on a small disk, that only processes started here see; it goes with them. */
export class SmallDisk {
  /** Where it is, for those processes. */
  readonly path: string;
  readonly #image: string;
  readonly #holder: ChildProcess;
  readonly #started: OnDisk[] = [];

  constructor(megabytes: number) {
    const root = mkdtempSync(join(tmpdir(), 'limpid-disk-'));
    this.path = join(root, 'disk');
    this.#image = join(root, 'image');
    mkdirSync(this.path);
    writeFileSync(this.#image, '');
    truncateSync(this.#image, megabytes << 20);
    spawnSync('mkfs.ext4', ['-q', this.#image]);
    this.#holder = spawn('unshare', ['-m', 'sleep', '86400'], { stdio: 'ignore' });
    // Its namespace is its own a moment after it runs.
    for (let i = 0; i < 100 && this.#inside('readlink /proc/self/ns/mnt').trim() === ownNamespace(); i++)
      spawnSync('sleep', ['0.05']);
    this.mount();
  }

  /** The disk as it is seen from here, while it is mounted. */
  get seen(): string {
    return `/proc/${this.#holder.pid}/root${this.path}`;
  }

  mount(how: 'rw' | 'ro' = 'rw'): void {
    this.#inside(`mount -o loop,${how} ${this.#image} ${this.path}`);
  }

  unmount(): void {
    this.#inside(`umount ${this.path}`);
  }

  /** As a disk that failed: whatever is written from now on is refused. Only a new mount brings it back. */
  fail(): void {
    this.#inside(`mount -o remount,abort ${this.path}`);
  }

  /** Until nothing more fits. */
  fill(): void {
    const handle = openSync(join(this.seen, 'filler'), 'a');
    try {
      for (const piece of [1 << 16, 512, 1]) while (fits(handle, piece));
    } finally {
      closeSync(handle);
    }
  }

  free(): void {
    rmSync(join(this.seen, 'filler'), { force: true });
  }

  start(words: readonly string[]): OnDisk {
    const line = ['-t', String(this.#holder.pid), '-m', 'sh', '-c', `cd ${process.cwd()} && exec "$@"`, 'sh', ...words];
    const child = spawn('nsenter', line, { stdio: ['ignore', 'pipe', 'pipe'] });
    let said = '';
    for (const stream of [child.stdout, child.stderr])
      stream.setEncoding('utf8').on('data', (text: string) => (said += text));
    const ended = once(child, 'close').then(() => child.exitCode);
    const started: OnDisk = {
      child,
      ended,
      said: () => said,
      async stop(signal) {
        if (child.exitCode === null && child.signalCode === null) child.kill(signal);
        return await ended;
      },
    };
    this.#started.push(started);
    return started;
  }

  async dispose(): Promise<void> {
    for (const one of this.#started) await one.stop('SIGKILL');
    this.unmount();
    this.#holder.kill('SIGKILL');
    rmSync(join(this.path, '..'), { recursive: true, force: true });
  }

  #inside(line: string): string {
    return spawnSync('nsenter', ['-t', String(this.#holder.pid), '-m', 'sh', '-c', line], { encoding: 'utf8' }).stdout;
  }
}

const ownNamespace = (): string => spawnSync('readlink', ['/proc/self/ns/mnt'], { encoding: 'utf8' }).stdout.trim();

function fits(handle: number, bytes: number): boolean {
  try {
    return writeSync(handle, Buffer.alloc(bytes)) === bytes;
  } catch {
    return false;
  }
}

/** `until`, with what the process said where it does not come true. */
export async function untilSaid(who: OnDisk, what: string, isTrue: () => boolean, withinS = 60): Promise<void> {
  await until(what, isTrue, withinS).catch((error: unknown) => {
    throw new Error(`${String(error)}; it said: ${who.said()}`);
  });
}
