// Counts every step of writing of this process: each change of a file, and (watched-sqlite.ts, which stands in for the
// database's package) each statement and each transaction of a database.
// A step can be the last: the process kills itself just before it, as a power cut would.
import fs, { type PathLike } from 'node:fs';
import { syncBuiltinESMExports } from 'node:module';
import { basename, dirname, join, resolve } from 'node:path';

/** Just before the `nth` step whose name holds `before` (`nth` from 1); '' is in every name. */
export interface Death {
  readonly before: string;
  readonly nth: number;
}

export interface Watched {
  /** Names of the steps so far, in their order. */
  readonly steps: readonly string[];
  /** Files that got their last name before their bytes were on the disk, which a power cut would leave empty. */
  readonly unsynced: readonly string[];
}

// What a name of a step does not tell: names made from hashes and runs, and which file of a record it is.
const plain = (path: string): string =>
  `${basename(dirname(resolve(path)))}/${basename(path)}`.replaceAll(
    /[0-9a-f]{16,}|run-[-A-Za-z0-9]+|van-\d+|(?<=\.new\/).*/g,
    '*',
  );

let onStep: (name: string) => void = () => undefined;

/** Something is about to be written. */
export const step = (name: string): void => onStep(name);

/** From here on; what writes is to be imported after this. */
export function watchSteps(death: Death | null): Watched {
  const steps: string[] = [];
  let met = 0;
  onStep = (name) => {
    steps.push(name);
    if (death && name.includes(death.before) && ++met === death.nth) {
      process.kill(process.pid, 'SIGKILL');
      // The signal may take a moment: nothing more is written until it is there.
      Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0);
    }
  };
  const unsynced = watchFiles();
  return { steps, unsynced };
}

function watchFiles(): string[] {
  const real = { ...fs };
  const names = new Map<number, string>();
  const dirty = new Set<string>();
  const unsynced: string[] = [];
  const of = (path: PathLike): string => resolve(String(path));

  /** One by one, as the system does it. */
  const remove = (path: string): void => {
    const found = real.lstatSync(path, { throwIfNoEntry: false });
    if (!found) return;
    if (found.isDirectory()) {
      for (const name of real.readdirSync(path)) remove(join(path, name));
      step(`rmdir ${plain(path)}`);
      real.rmdirSync(path);
      return;
    }
    step(`unlink ${plain(path)}`);
    dirty.delete(path);
    real.unlinkSync(path);
  };
  const changed: Partial<typeof fs> = {
    openSync(path, flags, mode) {
      const writes = flags !== undefined && flags !== 'r';
      if (writes) step(`open ${plain(String(path))}`);
      const handle = real.openSync(path, flags, mode);
      if (writes) names.set(handle, of(path));
      return handle;
    },
    writeSync: ((handle: number, ...rest: [string]) => {
      const name = names.get(handle);
      if (name !== undefined) {
        step(`write ${plain(name)}`);
        dirty.add(name);
      }
      return real.writeSync(handle, ...rest);
    }) as typeof fs.writeSync,
    fsyncSync(handle) {
      const name = names.get(handle);
      step(`fsync ${plain(name ?? '')}`);
      real.fsyncSync(handle);
      if (name !== undefined) dirty.delete(name);
    },
    closeSync(handle) {
      names.delete(handle);
      real.closeSync(handle);
    },
    writeFileSync(path, data, options) {
      const name = typeof path === 'number' ? (names.get(path) ?? '') : of(String(path));
      step(`write ${plain(name)}`);
      real.writeFileSync(path, data, options);
      if (typeof options !== 'object' || !options?.flush) dirty.add(name);
    },
    appendFileSync(path, ...rest) {
      step(`append ${plain(String(path))}`);
      real.appendFileSync(path, ...rest);
    },
    copyFileSync(from, to, mode) {
      step(`copy ${plain(String(to))}`);
      dirty.add(of(to));
      real.copyFileSync(from, to, mode);
    },
    cpSync(from, to, options) {
      step(`copy ${plain(String(to))}`);
      dirty.add(of(String(to)));
      real.cpSync(from, to, options);
    },
    mkdirSync: ((path: PathLike, options?: fs.MakeDirectoryOptions) => {
      step(`mkdir ${plain(String(path))}`);
      return real.mkdirSync(path, options);
    }) as typeof fs.mkdirSync,
    renameSync(from, to) {
      step(`rename ${plain(String(to))}`);
      const [was, is] = [of(from), of(to)];
      for (const name of [...dirty].filter((one) => one === was || one.startsWith(`${was}/`))) {
        unsynced.push(plain(name));
        dirty.delete(name);
      }
      real.renameSync(was, is);
    },
    rmSync(path, options) {
      if (options?.recursive || real.existsSync(path)) remove(of(path));
      else real.rmSync(path, options);
    },
  };
  Object.assign(fs, changed);
  syncBuiltinESMExports();
  return unsynced;
}
