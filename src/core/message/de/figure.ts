/** Figures as German writes them: a decimal comma. */
export type Params = Readonly<Record<string, string | number>>;
export type Text = (p: Params) => string;

export const n = (v: string | number | undefined, digits: number): string =>
  Number(v ?? Number.NaN)
    .toFixed(digits)
    .replace('.', ',');

/** A figure, or several, with as many decimals as they came with. */
export const asFigured = (v: string | number | undefined): string => String(v ?? '').replace(/(\d)\.(?=\d)/g, '$1,');

/** A figure with as many decimals as a reading of its size deserves; a dash where there is none. */
export function figure(value: string | number | undefined): string {
  if (typeof value !== 'number') return value ?? '–';
  return n(value, Math.abs(value) < 10 ? 1 : 0);
}
