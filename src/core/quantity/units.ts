/**
 * Units that a user may prefer, on screen and paper only: inside, everything is in the first unit of its row.
 * Factors are exact by definition: pound-force per square inch 6894.757293168361 Pa (from the international pound
 * 0.45359237 kg, inch 25.4 mm and g0 9.80665 m/s2), US gallon 231 in3 = 3.785411784 l, imperial gallon 4.54609 l.
 * Which gallon is always said: the two differ by a fifth.
 */
export type QuantityKind = 'pressure' | 'flow' | 'volume' | 'temperature';

interface UnitRow {
  readonly kind: QuantityKind;
  /** shown = inside * factor + offset */
  readonly factor: number;
  readonly offset: number;
  readonly decimals: number;
}

const usGallonL = 3.785411784;
const imperialGallonL = 4.54609;

export const unitTable = {
  bar: { kind: 'pressure', factor: 1, offset: 0, decimals: 2 },
  psi: { kind: 'pressure', factor: 1e5 / 6894.757293168361, offset: 0, decimals: 1 },
  kPa: { kind: 'pressure', factor: 100, offset: 0, decimals: 0 },
  'l/min': { kind: 'flow', factor: 1, offset: 0, decimals: 1 },
  'US gal/min': { kind: 'flow', factor: 1 / usGallonL, offset: 0, decimals: 2 },
  'imp gal/min': { kind: 'flow', factor: 1 / imperialGallonL, offset: 0, decimals: 2 },
  l: { kind: 'volume', factor: 1, offset: 0, decimals: 1 },
  'US gal': { kind: 'volume', factor: 1 / usGallonL, offset: 0, decimals: 1 },
  'imp gal': { kind: 'volume', factor: 1 / imperialGallonL, offset: 0, decimals: 1 },
  '°C': { kind: 'temperature', factor: 1, offset: 0, decimals: 1 },
  '°F': { kind: 'temperature', factor: 1.8, offset: 32, decimals: 1 },
} as const satisfies Readonly<Record<string, UnitRow>>;

export type UnitName = keyof typeof unitTable;

/** One shown unit for each kind of quantity. */
export interface UnitChoice {
  readonly pressure: 'bar' | 'psi' | 'kPa';
  readonly flow: 'l/min' | 'US gal/min' | 'imp gal/min';
  readonly volume: 'l' | 'US gal' | 'imp gal';
  readonly temperature: '°C' | '°F';
}

export const insideUnits: UnitChoice = { pressure: 'bar', flow: 'l/min', volume: 'l', temperature: '°C' };

/** What may be chosen for each kind, ours first. */
export const unitChoices: { readonly [K in QuantityKind]: readonly UnitChoice[K][] } = {
  pressure: ['bar', 'psi', 'kPa'],
  flow: ['l/min', 'US gal/min', 'imp gal/min'],
  volume: ['l', 'US gal', 'imp gal'],
  temperature: ['°C', '°F'],
};

/** A choice from data of any kind: what is no unit of its kind gives our own. */
export function unitChoiceOf(told: unknown): UnitChoice {
  const of = <K extends QuantityKind>(kind: K): UnitChoice[K] => {
    const found: unknown = typeof told === 'object' && told !== null ? Reflect.get(told, kind) : undefined;
    return unitChoices[kind].find((u) => u === found) ?? insideUnits[kind];
  };
  return { pressure: of('pressure'), flow: of('flow'), volume: of('volume'), temperature: of('temperature') };
}

/** Our unit (bar, l/min, l, degrees Celsius) to a shown one. */
export function toShown(inside: number, unit: UnitName): number {
  const row = unitTable[unit];
  return inside * row.factor + row.offset;
}

/** A figure typed in a shown unit, in ours. */
export function toInside(shown: number, unit: UnitName): number {
  const row = unitTable[unit];
  return (shown - row.offset) / row.factor;
}

/** A difference (temperature rise, pressure fall) has no offset. */
export function differenceToShown(inside: number, unit: UnitName): number {
  return inside * unitTable[unit].factor;
}

/** Figure with its unit, as printed: "1.20 bar", "17.4 psi". What is not known is said, never left blank. */
export function shown(inside: number | null, kind: QuantityKind, choice: UnitChoice): string {
  const unit = choice[kind];
  if (inside === null || !Number.isFinite(inside)) return 'not measured';
  // Adding nought turns -0 into 0, which would print as "-0.0".
  const digits = unitTable[unit].decimals;
  const text = (Math.round(toShown(inside, unit) * 10 ** digits) / 10 ** digits + 0).toFixed(digits);
  return `${text} ${unit}`;
}

const kindOfInside: Readonly<Record<string, QuantityKind>> = {
  bar: 'pressure',
  'l/min': 'flow',
  l: 'volume',
  '°C': 'temperature',
};
// Sentences come with a decimal point or, in other languages, a comma.
const number = '[-\u2212]?\\d+(?:[.,]\\d+)?';
const figuresInText = new RegExp(
  `(?<![\\w./])(${number})(?:( to | and | bis | und | \u00b1 )(${number}))? (bar|l/min|l|°C)(?:(/min)|(?![\\w/\u00b3]))`,
  'gu',
);

/**
 * A sentence of ours with its figures in the units chosen: "at 0.8 to 1.5 bar" becomes "at 11.6 to 21.8 psi". As many
 * digits count as before. Not for words of a person, which stand as they were written.
 */
export function textInUnits(text: string, choice: UnitChoice): string {
  let out = '';
  let done = 0;
  for (const found of text.matchAll(figuresInText)) {
    const [all, first = '', between = '', second = '', unit = '', per = ''] = found;
    const kind = kindOfInside[unit];
    const before = text.slice(done, found.index);
    done = found.index + all.length;
    out += before;
    if (kind === undefined || choice[kind] === unit || isReference(before, first, unit)) {
      out += all;
      continue;
    }
    const isWidth = between === ' \u00b1 ' || per !== '';
    out += withDigits(first, choice[kind], per !== '');
    if (second !== '') out += `${between}${withDigits(second, choice[kind], isWidth)}`;
    out += ` ${choice[kind]}${per}`;
  }
  return out + text.slice(done);
}

/** Conductivity is told at 25 °C everywhere: that is its name, not a reading. */
function isReference(before: string, first: string, unit: string): boolean {
  return first === '25' && unit === '°C' && /(^|conductivity |leitfähigkeit )(at|bei) $/i.test(before);
}

function withDigits(text: string, unit: UnitName, isWidth: boolean): string {
  const mark = text.includes(',') ? ',' : '.';
  const value = Number(text.replace('\u2212', '-').replace(',', '.'));
  const row = unitTable[unit];
  const decimals = (text.split(mark)[1] ?? '').length;
  const places = Math.min(4, Math.max(0, decimals - Math.floor(Math.log10(row.factor))));
  return (isWidth ? differenceToShown(value, unit) : toShown(value, unit)).toFixed(places).replace('.', mark);
}
