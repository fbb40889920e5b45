import { existsSync } from 'node:fs';
import { Problem } from '../core/message/problem.ts';
import { readConfig } from '../run/config.ts';
import type { Store } from '../store/store.ts';

/** The data folder that the options, or else the settings, name. */
export function dataFolder(options: Readonly<Record<string, unknown>>): string {
  return readConfig(options['data'] === undefined ? {} : { data: options['data'] }, process.env).data;
}

/** Opens the store that the options name, and closes it whatever happens. `make`: it may be new. */
export async function withStore(
  options: Readonly<Record<string, unknown>>,
  use: (store: Store) => number | Promise<number>,
  make = false,
): Promise<number> {
  const data = dataFolder(options);
  if (!make && !existsSync(data)) throw new Problem('run.no-data', { data });
  const { openStore } = await import('../store/open.ts');
  const store = openStore(data);
  try {
    return await use(store);
  } finally {
    store.close();
  }
}
