/**
 * A drawing as plain shapes, in points, the origin at the upper left. Paper and page draw the same shapes. Everything
 * is told apart by form (dash, weight, hatch, mark) as well as by ink, so that it reads in greyscale.
 */
export type Ink = 'trace' | 'quiet' | 'hair' | 'accent' | 'good' | 'soft';

export type Shape =
  | {
      readonly kind: 'line';
      readonly points: readonly number[];
      readonly ink: Ink;
      readonly width: number;
      readonly dash?: readonly [number, number];
    }
  | {
      readonly kind: 'rect';
      readonly x: number;
      readonly y: number;
      readonly w: number;
      readonly h: number;
      readonly ink: Ink;
    }
  | { readonly kind: 'hatch'; readonly x: number; readonly y: number; readonly w: number; readonly h: number }
  | { readonly kind: 'ring'; readonly x: number; readonly y: number; readonly r: number; readonly ink: Ink }
  | {
      readonly kind: 'text';
      readonly x: number;
      /** Base line. */
      readonly y: number;
      readonly text: string;
      readonly size: number;
      readonly anchor: 'start' | 'middle' | 'end';
      readonly ink: Ink;
    };

export interface Picture {
  readonly width: number;
  readonly height: number;
  readonly shapes: readonly Shape[];
  /** What it shows, in words, for who cannot see it. */
  readonly alt: string;
}

export const inks: Readonly<Record<Ink, string>> = {
  trace: '#000000',
  quiet: '#404040',
  hair: '#767676',
  accent: '#0b4f7a',
  good: '#006b4f',
  soft: '#d9e2e8',
};

/** Strokes of a hatch: lines at 45 degrees, `gap` points apart, cut to the rectangle; flat x1, y1, x2, y2 each. */
export function hatchLines(x: number, y: number, w: number, h: number, gap = 4): readonly (readonly number[])[] {
  const lines: number[][] = [];
  for (let d = gap; d < w + h; d += gap) {
    const [x1, y1] = d <= h ? [x, y + d] : [x + d - h, y + h];
    const [x2, y2] = d <= w ? [x + d, y] : [x + w, y + d - w];
    lines.push([x1, y1, x2, y2]);
  }
  return lines;
}
