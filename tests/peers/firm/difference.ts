import type { RunStore } from '../../../src/store/store.ts';

/** What became of a run on its way, in entries of its chain and samples. */
export interface Difference {
  readonly lost: number;
  readonly doubled: number;
  readonly changed: number;
}

export const none: Difference = { lost: 0, doubled: 0, changed: 0 };

/** The run as it was found held against the run as it was made. */
export function difference(found: RunStore | null | undefined, made: RunStore): Difference {
  const rows = (run: RunStore | null | undefined): Map<string, string[]> => {
    const kept = new Map<string, string[]>();
    const put = (key: string, row: unknown): void => {
      kept.set(key, [...(kept.get(key) ?? []), JSON.stringify(row)]);
    };
    for (const link of run?.events() ?? []) put(`entry ${link.id}`, link);
    for (const sample of run?.samples() ?? []) put(`sample ${sample.timeS}`, sample);
    return kept;
  };
  const [there, here] = [rows(found), rows(made)];
  const all = [...here];
  return {
    lost: all.filter(([key]) => !there.has(key)).length,
    doubled: [...there.values()].filter((same) => same.length > 1).length,
    changed:
      all.filter(([key, [row]]) => there.has(key) && there.get(key)?.[0] !== row).length +
      [...there.keys()].filter((key) => !here.has(key)).length,
  };
}
