import { expect, it } from 'vitest';
import { lineDe } from '../../../../src/core/message/de/line.ts';
import { lineTexts } from '../../../../src/core/message/line.ts';

it('tells nobody of less than no dirt, and of no background under nought', () => {
  const figures = { excessNtu: -0.3, backgroundNtu: -2.9, litresSincePassL: 30, litresNeededL: 20 };
  expect(lineTexts.clear(figures)).toContain('0.0 NTU over a background of 0.0;');
  expect(lineDe.clear(figures)).toContain('0,0 NTU über der Grundtrübung von 0,0;');
});
