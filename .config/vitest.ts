import { defineConfig } from 'vitest/config';
import { BaseSequencer, type TestSpecification } from 'vitest/node';

// `short` is what `npm test` runs (under five minutes warm); `*.long.test.ts` files are soaks, fuzz and kill loops.
const long = process.env['LIMPID_TESTS'] === 'long';

/** No peer, port or clock has a part in these: what fails once has failed. */
const pure = [
  'tests/src/core/**/*.test.ts',
  'tests/reference/**/*.test.ts',
  'tests/simulators/**/*.test.ts',
  'tests/golden/**/*.test.ts',
];
/** Files whose tests leave nothing behind in their process: they share one, as the pure ones do, and read the core once. */
const sharing = [
  'tests/src/report/**/*.test.ts',
  'tests/src/{recording,store,hub,run}/**/*.test.ts',
  'tests/dashboards/**/*.test.ts',
  'tests/docs/**/*.test.ts',
  'tests/firmware-bridge/{wire,clock,calibration}/**/*.test.ts',
];
const soaks = ['tests/**/*.long.test.ts'];

/** Minutes each, most of them spent waiting: begun first, so that none is left over at the end beside idle workers. */
const slow = ['network', 'hub', 'no-false-clear', 'files', 'soak', 'day', 'bridge-kill', 'simulated', 'restarts'];

class SlowFirst extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const isSlow = ({ moduleId }: TestSpecification): boolean =>
      slow.some((n) => moduleId.endsWith(`/${n}.long.test.ts`));
    const sorted = await super.sort(files);
    return [...sorted.filter(isSlow), ...sorted.filter((file) => !isSlow(file))];
  }
}

export default defineConfig({
  root: '.',
  oxc: { jsx: { runtime: 'automatic', importSource: 'preact' } },
  test: {
    projects: long
      ? [{ extends: true, test: { name: 'long', include: soaks } }]
      : [
          { extends: true, test: { name: 'pure', include: pure, exclude: soaks, isolate: false, retry: 0 } },
          { extends: true, test: { name: 'sharing', include: sharing, exclude: soaks, isolate: false } },
          {
            extends: true,
            test: { name: 'alone', include: ['tests/**/*.test.ts'], exclude: [...soaks, ...pure, ...sharing] },
          },
        ],
    // Far above what anything needs: a machine with other work is slow, and no test is about how long it took.
    testTimeout: long ? 1_800_000 : 180_000,
    hookTimeout: 300_000,
    expect: { poll: { timeout: 30_000 } },
    // Real browsers, brokers and ports on a machine with other work: what fails once is tried again, and the report says so.
    retry: 2,
    pool: 'forks',
    maxWorkers: 2,
    ...(long ? { sequence: { sequencer: SlowFirst } } : {}),
    reporters: ['default'],
  },
});
