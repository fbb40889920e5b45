import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';

const css = readFileSync('dashboards/shared/theme.css', 'utf8');

function tokens(block: string): Map<string, string> {
  return new Map([...block.matchAll(/--([\w-]+): (#[0-9a-f]{6})/gi)].map((m) => [m[1] ?? '', m[2] ?? '']));
}
const light = tokens(css.slice(css.indexOf(':root {'), css.indexOf(':root[data-theme')));
const dark = tokens(css.slice(css.indexOf(':root[data-theme'), css.indexOf('* {')));

/** Relative luminance and contrast as WCAG 2.2 defines them. */
function luminance(hex: string): number {
  const [r = 0, g = 0, b = 0] = [1, 3, 5].map((i) => {
    const c = Number.parseInt(hex.slice(i, i + 2), 16) / 255;
    return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
  });
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}
function contrast(a: string, b: string): number {
  const [hi = 0, lo = 0] = [luminance(a), luminance(b)].sort((x, y) => y - x);
  return (hi + 0.05) / (lo + 0.05);
}

describe('contrast', () => {
  // WCAG 2.2: black on white is 21:1 by definition.
  it('is computed as the standard says', () => expect(contrast('#000000', '#ffffff')).toBeCloseTo(21));

  describe.each([
    ['light', light],
    ['dark', dark],
  ])('%s theme', (_name, theme) => {
    const of = (a: string, b: string) => contrast(theme.get(a) ?? '#777777', theme.get(b) ?? '#777777');
    it.each([
      ['ink', 'ground'],
      ['ink', 'good-soft'],
      ['quiet', 'ground'],
      ['on-urgent', 'urgent'],
      ['urgent', 'ground'],
      ['on-accent', 'accent'],
    ])('%s on %s reaches 7:1', (a, b) => expect(of(a, b)).toBeGreaterThanOrEqual(7));
    it.each([
      ['good', 'ground'],
      ['warn', 'ground'],
      ['accent', 'ground'],
      ['hair', 'ground'],
    ])('%s on %s reaches 4.5:1', (a, b) => expect(of(a, b)).toBeGreaterThanOrEqual(4.5));
    it.each(['trace', 'flow', 'pressure', 'temperature', 'conductivity'])('the %s trace reaches 3:1', (token) => {
      expect(of(token, 'ground')).toBeGreaterThanOrEqual(3);
      expect(of(token, 'good-soft')).toBeGreaterThanOrEqual(3);
    });
  });
});
