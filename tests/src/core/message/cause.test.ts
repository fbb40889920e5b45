import { readFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { describe, expect, it } from 'vitest';
import { causeOf } from '../../../../src/core/message/cause.ts';

function thrownBy(act: () => unknown): unknown {
  try {
    return act();
  } catch (error) {
    return error;
  }
}

describe('why something failed', () => {
  it('is said in words where the system gives a code', () => {
    expect(causeOf(thrownBy(() => readFileSync('/no/such/file')))).toBe('there is no such file');
    expect(causeOf(thrownBy(() => readFileSync(tmpdir())))).toBe('it is a folder');
  });

  it('is what was thrown elsewhere, on one line', () => {
    expect(causeOf(thrownBy(() => JSON.parse('x,y\n1,2')))).not.toContain('\n');
    expect(causeOf(new Error('plain'))).toBe('plain');
    expect(causeOf('a word')).toBe('a word');
  });
});
