import { defineConfig } from 'vitest/config';

// `short` is what `npm test` runs (under five minutes warm); `*.long.test.ts` files are soaks, fuzz and kill loops.
const long = process.env['LIMPID_TESTS'] === 'long';

export default defineConfig({
  root: '.',
  oxc: { jsx: { runtime: 'automatic', importSource: 'preact' } },
  test: {
    include: long ? ['tests/**/*.long.test.ts'] : ['tests/**/*.test.ts'],
    exclude: long ? [] : ['tests/**/*.long.test.ts'],
    // Far above what anything needs: a machine with other work is slow, and no test is about how long it took.
    testTimeout: long ? 1_800_000 : 180_000,
    hookTimeout: 300_000,
    expect: { poll: { timeout: 30_000 } },
    // Real browsers, brokers and ports on a machine with other work: what fails once is tried again, and the report says so.
    retry: 2,
    pool: 'forks',
    maxWorkers: 2,
    reporters: ['default'],
  },
});
