import { expect, it } from 'vitest';
import { lineDe } from '../../../../src/core/message/de/line.ts';
import { lineTexts } from '../../../../src/core/message/line.ts';

it('tells nobody of less than no dirt, and of no background under nought', () => {
  const figures = { excessNtu: -0.3, backgroundNtu: -2.9, litresSincePassL: 30, litresNeededL: 20 };
  expect(lineTexts.clear(figures)).toContain('0.0 NTU over a background of 0.0;');
  expect(lineDe.clear(figures)).toContain('0,0 NTU über der Grundtrübung von 0,0;');
});

it('leaves out a figure that is not known yet, and holds the share still to come to what is asked', () => {
  expect(lineTexts.arriving({})).toBe('The dirt of this pass is coming through.');
  expect(lineDe.arriving({})).toBe('Der Schmutz dieses Durchgangs kommt gerade.');
  const figures = { excessNtu: 1, backgroundNtu: 8.3, restShare: 0.04, restLimit: 0.05 };
  expect(lineTexts['rest-to-come'](figures)).toContain('about 4 % of what was set free');
  expect(lineTexts['rest-to-come'](figures)).toContain('surely be under 5 %');
  expect(lineDe['rest-to-come'](figures)).toContain('sicher unter 5 %');
});
