import { signal } from '@preact/signals';
import {
  differenceToShown,
  insideUnits,
  type QuantityKind,
  textInUnits,
  toShown,
  type UnitChoice,
  type UnitName,
  unitChoices,
  unitTable,
} from '../../src/core/quantity/units.ts';
import { fixedText } from './format.ts';

/**
 * The units in which this run is shown, by its record; whoever shows a run sets them. What is sent and kept is always
 * bar, l/min, l and degrees Celsius.
 */
export const units = signal<UnitChoice>(insideUnits);

/** The unit after this one, round and round. */
export function unitAfter(kind: QuantityKind): UnitName {
  const list: readonly UnitName[] = unitChoices[kind];
  return list[(list.indexOf(units.value[kind]) + 1) % list.length] ?? insideUnits[kind];
}

export function unitOf(kind: QuantityKind | null | undefined, plain: string): string {
  return kind ? units.value[kind] : plain;
}

export function decimalsOf(kind: QuantityKind | null | undefined, wanted: number | null | undefined): number {
  if (!kind) return wanted ?? 1;
  const unit: UnitName = units.value[kind];
  // Gallons hold four litres: what is told in hundredths of a litre needs them too.
  return Math.max(wanted ?? 0, unitTable[unit].decimals);
}

export function outward(kind: QuantityKind | null | undefined, inside: number): number {
  return kind ? toShown(inside, units.value[kind]) : inside;
}

/** A width (an uncertainty, a step) has no offset. */
export function widthOutward(kind: QuantityKind | null | undefined, inside: number): number {
  return kind ? differenceToShown(inside, units.value[kind]) : inside;
}

/** Unit of a change per minute: `psi/min`; of degrees Celsius it is the kelvin. */
export function rateUnitOf(kind: QuantityKind): string {
  const unit = units.value[kind];
  return `${unit === '\u00b0C' ? 'K' : unit}/min`;
}

/** A figure in the unit chosen, with the unit: `17.4 psi`. */
export function quantityText(kind: QuantityKind, inside: number, decimals?: number): string {
  return `${fixedText(outward(kind, inside), decimalsOf(kind, decimals))} ${units.value[kind]}`;
}

/** A sentence of the bridge's with its figures in the units chosen. Not for what a person typed. */
export function inUnits(text: string): string {
  return textInUnits(text, units.value);
}

/** Members of a view that are names, data or words of a person: they stand as they are. */
const untouched = new Set(['csv', 'what', 'id', 'name', 'title', 'said', 'last', 'units', 'file']);

/** What the bridge sent, with the figures in its sentences in the units chosen. */
export function viewInUnits(part: unknown): unknown {
  if (typeof part === 'string') return inUnits(part);
  if (Array.isArray(part)) return part.map(viewInUnits);
  if (typeof part !== 'object' || part === null) return part;
  return Object.fromEntries(
    Object.entries(part).map(([name, value]) => [name, untouched.has(name) ? value : viewInUnits(value)]),
  );
}

export function areOurs(choice: UnitChoice): boolean {
  return Object.values(choice).join() === Object.values(insideUnits).join();
}
