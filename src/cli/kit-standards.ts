import { channelByName } from '../core/quantity/channels.ts';
import { usualU } from '../core/quantity/usual-u.ts';
import { WrongUse } from './command.ts';

/** `value=20,u=0.4,what=...` as its parts. Throws WrongUse for a part that is unknown or no number. */
export function parts(option: string, text: string, numbers: readonly string[], words: readonly string[] = []) {
  const found: { numbers: Record<string, number>; words: Record<string, string> } = { numbers: {}, words: {} };
  for (const part of text.split(',')) {
    const at = part.indexOf('=');
    const name = part.slice(0, Math.max(0, at)).trim();
    const value = part.slice(at + 1).trim();
    if (words.includes(name)) found.words[name] = value;
    else if (numbers.includes(name) && value !== '' && Number.isFinite(Number(value)))
      found.numbers[name] = Number(value);
    else {
      const known = [...numbers, ...words].map((n) => `${n}=...`).join(',');
      throw new WrongUse(`--${option} is written as ${known}; "${part}" is none of these.`);
    }
  }
  return found;
}

/** A standard as given on the command line: what it is worth, and the reading where that is known already. */
export interface GivenStandard {
  readonly value: number;
  readonly u: number;
  readonly raw: number | null;
  readonly uRaw: number;
  /** Null: not known. */
  readonly sdRaw: number | null;
  readonly kitValue: number | null;
  readonly what: string;
}

export function parseStandard(channel: string, text: string): GivenStandard {
  const { numbers, words } = parts('standard', text, ['value', 'u', 'raw', 'uraw', 'sd', 'kit'], ['what']);
  const { value, u, raw, uraw, sd, kit } = numbers;
  if (value === undefined) throw new WrongUse('--standard needs value=..., the true value of the standard.');
  return {
    value,
    u: u ?? usualU(channel, value),
    raw: raw ?? null,
    uRaw: uraw ?? 0,
    sdRaw: sd ?? null,
    kitValue: kit ?? null,
    what: words['what'] ?? '',
  };
}

export interface GivenBucket {
  readonly massKg: number;
  readonly uMassKg: number;
  readonly waterC: number;
  readonly kitL: number | null;
  readonly kitLpm: number | null;
}

export function parseBucket(text: string): GivenBucket {
  const { numbers } = parts('bucket', text, ['mass', 'u', 'water', 'litres', 'lpm']);
  const { mass, u, water, litres, lpm } = numbers;
  if (mass === undefined) throw new WrongUse('--bucket needs mass=..., the kilograms of water in it.');
  return { massKg: mass, uMassKg: u ?? 0.02, waterC: water ?? 15, kitL: litres ?? null, kitLpm: lpm ?? null };
}

/** Channel names that can be calibrated, or WrongUse. */
export function calibratedChannel(name: string): string {
  const known = ['turbidity', 'turbidity-out', 'flow', 'pressure', 't-supply', 't-return', 'conductivity'];
  if (known.includes(name) && channelByName(name)) return name;
  throw new WrongUse(`Calibrate what? One of: ${known.join(', ')}; got "${name}".`);
}
