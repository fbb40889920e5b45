import { expect, it } from 'vitest';
import { settingsPage, written } from '../../.config/settings.ts';

it('docs/settings.md is what the schemas say (npm run settings writes it)', () => {
  expect(written()).toBe(settingsPage());
});
