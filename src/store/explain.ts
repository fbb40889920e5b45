import { causeOf } from '../core/message/cause.ts';
import { Problem } from '../core/message/problem.ts';

/** What SQLite says by a code, in plain words. */
const cannot: Readonly<Record<number, string>> = {
  3: 'this user may not do that',
  8: 'it is read-only for this user',
  14: 'it cannot be opened there',
};

/** Errors of SQLite and of the file system as Problem about `file`; others as they are. `holder`: who has it open. */
export function explain(error: unknown, file: string, holder: () => string = () => ''): unknown {
  if (!(error instanceof Error) || error instanceof Problem) return error;
  // The low byte is the code that is documented; what stands above it tells the place within SQLite.
  const sqlite = 'sqliteCode' in error && typeof error.sqliteCode === 'number' ? error.sqliteCode & 0xff : undefined;
  const system = 'code' in error ? error.code : undefined;
  const detail = error.message;
  const because = { cause: error };
  if (sqlite === 5 || sqlite === 6) return new Problem('store-in-use', { file, pid: holder() }, because);
  if (sqlite === 13 || system === 'ENOSPC') return new Problem('store-disk-full', { file }, because);
  if (sqlite === 11 || sqlite === 26) return new Problem('store-corrupt', { file, detail }, because);
  if (sqlite === 3 || sqlite === 8 || sqlite === 14 || (typeof system === 'string' && /^E[A-Z]+$/.test(system)))
    return new Problem('store-not-writable', { file, detail: cannot[sqlite ?? 0] ?? causeOf(error) }, because);
  if (sqlite === 10) return new Problem('store-io', { file, detail }, because);
  return error;
}
