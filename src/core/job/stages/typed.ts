import type { Field } from './field.ts';

/** One figure that may be typed, with the title of its form. */
interface TypedField extends Field {
  readonly title: string;
}

const value = (field: Omit<TypedField, 'name' | 'kind'>): TypedField => ({ name: 'value', kind: 'number', ...field });
const minutes = (title: string, label: string, least: number): TypedField =>
  value({ title, label, unit: 'min', least, most: 1440 });

/** What may be typed as a single figure, with what is possible, in our units: the one list of `typed` events. */
export const typedFields = {
  'fill-litres': value({
    title: 'Litres by the water meter',
    label: 'Litres filled',
    quantity: 'volume',
    least: 0,
    most: 100000,
  }),
  'fill-bar': value({ title: 'Pressure by the gauge', label: 'Pressure', quantity: 'pressure', least: 0, most: 6 }),
  'contact-min': minutes('Contact time by the label', 'Contact time', 1),
  'return-c': value({
    title: 'Return temperature by hand thermometer',
    label: 'Return',
    quantity: 'temperature',
    least: 0,
    most: 110,
  }),
  'warm-target-c': value({
    title: 'Go on from',
    label: 'Return to reach',
    quantity: 'temperature',
    least: 20,
    most: 80,
  }),
  'circulated-min': minutes('Minutes by your own watch', 'Minutes circulated', 0),
  'circulate-min': minutes('Minutes wanted', 'Minutes wanted', 1),
  'dropped-litres': value({
    title: 'Litres dropped',
    label: 'Litres dropped',
    quantity: 'volume',
    least: 0,
    most: 100000,
  }),
  'rinse-ntu': value({
    title: 'Turbidity by instrument or tube',
    label: 'Turbidity',
    unit: 'NTU',
    least: 0,
    most: 20000,
  }),
  'rinse-us-cm': value({
    title: 'Conductivity by pocket meter',
    label: 'Conductivity',
    unit: 'µS/cm',
    least: 0,
    most: 200000,
  }),
  'vibration-m-s2': value({
    title: 'Vibration of the shaking tool',
    label: 'Of the tool',
    unit: 'm/s²',
    least: 0.1,
    most: 100,
  }),
  'vibration-earlier': value({
    title: 'Points of earlier work today',
    label: 'Points',
    unit: 'points',
    least: 0,
    most: 2000,
  }),
  'chamber-grams': value({ title: 'What the chamber holds', label: 'Full at', unit: 'g', least: 1, most: 100000 }),
  'jug-us-cm': value({
    title: 'Jug test of the cleaner',
    label: 'Rise in the jug',
    unit: 'µS/cm',
    least: 1,
    most: 200000,
  }),
  'tolerated-percent': value({
    title: 'Cleaner that the inhibitor stands',
    label: 'Cleaner left that the inhibitor stands',
    unit: '%',
    least: 0,
    most: 100,
  }),
  'check-months': value({
    title: 'Next check',
    label: 'Months to the next check',
    unit: 'months',
    least: 1,
    most: 120,
  }),
  'rinse-over-ntu': value({
    title: 'Mains level: turbidity at most',
    label: 'Turbidity over the mains',
    unit: 'NTU',
    least: 0.1,
    most: 1000,
  }),
  'rinse-over-percent': value({
    title: 'Mains level: conductivity and turbidity within',
    label: 'Over the mains',
    unit: '%',
    least: 1,
    most: 100,
  }),
  'inhibitor-strength': value({
    title: 'Strength by the label\u2019s test',
    label: 'Of the label’s strength',
    unit: '%',
    least: 0,
    most: 1000,
  }),
} satisfies Readonly<Record<string, TypedField>>;
export type TypedName = keyof typeof typedFields;

export function isTypedName(name: unknown): name is TypedName {
  return typeof name === 'string' && Object.hasOwn(typedFields, name);
}
