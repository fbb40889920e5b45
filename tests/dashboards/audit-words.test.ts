import { expect, it } from 'vitest';
import { short } from '../../dashboards/audit/words.ts';

it('an auditor reads figures as they are, not in the steps of the tablet, nor a small one as none', () => {
  expect(['247', '83.2', '0.012'].map(Number).map(short)).toEqual(['247', '83.2', '0.012']);
});
