/** A figure as people type it, with comma or point; NaN where there is none. */
export function typedNumber(text: string): number {
  const plain = text.trim().replace('\u2212', '-').replace(',', '.');
  return /^[-+]?(\d+\.?\d*|\.\d+)(e[-+]?\d+)?$/i.test(plain) ? Number(plain) : Number.NaN;
}
