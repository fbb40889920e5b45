import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { expectedName, goldenFolder, goldenNames, verdictOf } from './verdicts.ts';

/**
 * Small recordings and what is said of them. A difference is not wrong by itself: write the new answers with
 * `npx tsx tests/golden/regenerate.ts`, read the diff as what an engineer would be told otherwise than before, and commit
 * it with the change that made it.
 */
describe('golden verdicts', () => {
  it.each(goldenNames())('%s', (name) => {
    const expected: unknown = JSON.parse(readFileSync(join(goldenFolder, name, expectedName), 'utf8'));
    expect(JSON.parse(verdictOf(name))).toEqual(expected);
  });
});
