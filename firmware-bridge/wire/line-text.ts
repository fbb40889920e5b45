/**
 * Text <-> UTF-8 by the coders of the Encoding Standard, which Node and browsers both have. They are named here by the
 * little that is used of them, because this room knows neither Node nor DOM.
 */
declare const TextDecoder: new (
  label: string,
  options: { readonly fatal: boolean; readonly ignoreBOM: boolean },
) => { decode(bytes: Uint8Array): string };
declare const TextEncoder: new () => { encode(text: string): Uint8Array };

const decoder = new TextDecoder('utf-8', { fatal: true, ignoreBOM: true });
const encoder = new TextEncoder();

/** Bytes of a line -> text; null when they are no UTF-8: noise must not pass as letters. */
export function lineText(bytes: Uint8Array): string | null {
  try {
    return decoder.decode(bytes);
  } catch {
    return null;
  }
}

export function textBytes(text: string): Uint8Array {
  return encoder.encode(text);
}
