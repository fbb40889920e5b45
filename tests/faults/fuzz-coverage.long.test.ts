import { createHash } from 'node:crypto';
import { mkdirSync, writeFileSync } from 'node:fs';
import { Session } from 'node:inspector';
import { join } from 'node:path';
import { afterAll, expect, it } from 'vitest';
import type { Target } from './fuzz-targets.ts';

/**
 * Fuzzing led by coverage: an input that reaches a place of our code that none before it did is changed further. With
 * LIMPID_FUZZ_KEEP=1 small ones are written into the corpus; one that breaks something always is.
 */
const secondsEach = Number(process.env['LIMPID_FUZZ_S'] ?? 8);
const keep = process.env['LIMPID_FUZZ_KEEP'] === '1';
const largest = 2000;

// Before our code is loaded: what is compiled by then is not counted by blocks.
const session = new Session();
session.connect();
session.post('Profiler.enable');
session.post('Profiler.startPreciseCoverage', { callCount: true, detailed: true });
const { corpus, keptOf, targets } = await import('./fuzz-targets.ts');
const { generator } = await import('./generator.ts');
const { mutate, mutateJson } = await import('./mutate.ts');
afterAll(() => session.disconnect());

/** Blocks of our own code that ran since it was last asked. */
function reached(): string[] {
  const blocks: string[] = [];
  session.post('Profiler.takePreciseCoverage', (_error, { result }) => {
    for (const script of result) {
      if (!/\/(src|firmware-bridge)\//.test(script.url) || script.url.includes('node_modules')) continue;
      for (const fn of script.functions)
        for (const range of fn.ranges)
          if (range.count > 0) blocks.push(`${script.scriptId}:${range.startOffset}:${range.endOffset}`);
    }
  });
  return blocks;
}

function write(target: Target, bytes: Buffer): void {
  const folder = join(corpus, target.name);
  mkdirSync(folder, { recursive: true });
  writeFileSync(join(folder, createHash('sha256').update(bytes).digest('hex').slice(0, 12)), bytes);
}

it.each(targets)('$name reads whatever comes, or refuses it by a reason', (target) => {
  const random = generator(target.name.length * 7919);
  const seen = new Set<string>();
  const pool: Buffer[] = [];
  const failed: string[] = [];
  let tried = 0;
  const run = (bytes: Buffer): void => {
    tried += 1;
    try {
      target.read(bytes);
    } catch (error) {
      write(target, bytes);
      failed.push(
        `${JSON.stringify(bytes.toString('latin1').slice(0, 300))}: ${error instanceof Error ? error.stack : ''}`,
      );
    }
  };
  const isNewGround = (): boolean => {
    const before = seen.size;
    for (const block of reached()) seen.add(block);
    return seen.size > before;
  };
  reached();
  for (const seed of [...target.seeds, ...keptOf(target.name).map((k) => k.bytes)]) {
    run(seed);
    pool.push(seed);
  }
  isNewGround();
  const pick = (): Buffer => pool[Math.floor(random() * pool.length)] ?? Buffer.alloc(0);
  const endMs = Date.now() + secondsEach * 1000;
  while (Date.now() < endMs && failed.length < 5) {
    // To ask what was reached costs as much as hundreds of inputs: one of many is looked for only where many found something.
    const batch = Array.from(
      { length: 200 },
      () => (random() < 0.5 ? mutateJson(pick(), random) : null) ?? mutate(pick(), random, pick()),
    );
    for (const bytes of batch) if (Date.now() < endMs) run(bytes);
    const found = new Set(reached().filter((block) => !seen.has(block)));
    for (const bytes of found.size > 0 ? batch : []) {
      run(bytes);
      const own = reached().filter((block) => found.has(block));
      if (own.length === 0) continue;
      for (const block of own) {
        found.delete(block);
        seen.add(block);
      }
      pool.push(bytes);
      if (keep && bytes.length <= largest) write(target, bytes);
      if (found.size === 0 || failed.length >= 5 || Date.now() > endMs) break;
    }
    for (const block of found) seen.add(block);
  }
  console.log(`${target.name}: ${tried} inputs, ${pool.length} in the pool, ${seen.size} blocks reached`);
  expect(failed).toEqual([]);
  expect(tried).toBeGreaterThan(target.seeds.length);
});
