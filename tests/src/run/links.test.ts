import { expect, test } from 'vitest';
import { say } from '../../../src/core/message/message.ts';
import { linkViews } from '../../../src/run/links.ts';

const at = {
  source: 'the kits on the broker',
  transport: { kind: 'open' as const },
  packAgeS: 60,
  turbidityAgeS: 60,
  leading: 'urn:dev:mac:1',
  isSealed: false,
  storeProblem: null,
  say,
};
const kit = (besides: string | null, packAgeS = 60) =>
  linkViews({ ...at, packAgeS, besides }).find((link) => link.id === 'kit');

test('a kit that is heard while the one of the run is silent is named, and said not to be used', () => {
  expect(kit('urn:dev:mac:2')).toMatchObject({ state: 'trouble' });
  expect(kit('urn:dev:mac:2')?.text).toMatch(/urn:dev:mac:1\) has gone silent.*urn:dev:mac:2, is heard and not used/);
  expect(kit(null)?.text).toMatch(/^No reading comes from/);
  expect(kit('urn:dev:mac:2', 0.1)).toMatchObject({ state: 'ok' });
});
