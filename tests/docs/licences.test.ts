import { describe, expect, it } from 'vitest';
import { accepted, licencesPage, packages, written } from '../../.config/licences.ts';

describe('the licences of what is installed', () => {
  it('are all looked at', () => {
    expect(packages().filter((p) => !accepted.has(p.licence))).toEqual([]);
  });

  it('stand in docs/licences.md (npm run licences writes it)', () => {
    expect(written()).toBe(licencesPage());
  });
});
