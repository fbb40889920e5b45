import type { Field } from './field.ts';

const value = (field: Omit<Field, 'name' | 'kind'>): Field => ({ name: 'value', kind: 'number', ...field });
const minutes = (label: string, least: number): Field => value({ label, unit: 'min', least, most: 1440 });

/** What may be typed as a single figure, with what is possible, in our units: the one list of `typed` events. */
export const typedFields: Readonly<Record<string, Field>> = {
  'fill-litres': value({ label: 'Litres filled', quantity: 'volume', least: 0, most: 100000 }),
  'fill-bar': value({ label: 'Pressure', quantity: 'pressure', least: 0, most: 6 }),
  'contact-min': minutes('Contact time', 1),
  'return-c': value({ label: 'Return', quantity: 'temperature', least: 0, most: 110 }),
  'warm-target-c': value({ label: 'Return to reach', quantity: 'temperature', least: 20, most: 80 }),
  'circulated-min': minutes('Minutes circulated', 0),
  'circulate-min': minutes('Minutes wanted', 1),
  'dropped-litres': value({ label: 'Litres dropped', quantity: 'volume', least: 0, most: 100000 }),
  'rinse-ntu': value({ label: 'Turbidity', unit: 'NTU', least: 0, most: 20000 }),
  'rinse-us-cm': value({ label: 'Conductivity', unit: 'µS/cm', least: 0, most: 200000 }),
  'vibration-m-s2': value({ label: 'Of the tool', unit: 'm/s²', least: 0.1, most: 100 }),
  'vibration-earlier': value({ label: 'Points', unit: 'points', least: 0, most: 2000 }),
  'chamber-grams': value({ label: 'Full at', unit: 'g', least: 1, most: 100000 }),
  'jug-us-cm': value({ label: 'Rise in the jug', unit: 'µS/cm', least: 1, most: 200000 }),
  'tolerated-percent': value({ label: 'Cleaner left that the inhibitor stands', unit: '%', least: 0, most: 100 }),
  'check-months': value({ label: 'Months to the next check', unit: 'months', least: 1, most: 120 }),
  'rinse-over-ntu': value({ label: 'Turbidity over the mains', unit: 'NTU', least: 0.1, most: 1000 }),
  'rinse-over-percent': value({ label: 'Over the mains', unit: '%', least: 1, most: 100 }),
  'inhibitor-strength': value({ label: 'Of the label’s strength', unit: '%', least: 0, most: 1000 }),
};
