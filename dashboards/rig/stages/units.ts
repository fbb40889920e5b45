import { signal } from '@preact/signals';
import {
  insideUnits,
  type QuantityKind,
  toInside,
  toShown,
  type UnitChoice,
  type UnitName,
  unitTable,
} from '../../../src/core/quantity/units.ts';

/** The units that this device shows; what is sent and kept is always bar, l/min, l and degrees Celsius. */
const key = 'limpid-units';

export const unitChoices: { readonly [K in QuantityKind]: readonly UnitChoice[K][] } = {
  pressure: ['bar', 'psi', 'kPa'],
  flow: ['l/min', 'US gal/min', 'imp gal/min'],
  volume: ['l', 'US gal', 'imp gal'],
  temperature: ['°C', '°F'],
};

function stored(): UnitChoice {
  try {
    const kept: unknown = JSON.parse(localStorage.getItem(key) ?? '{}');
    const of = <K extends QuantityKind>(kind: K): UnitChoice[K] => {
      const found: unknown = typeof kept === 'object' && kept !== null ? Reflect.get(kept, kind) : undefined;
      return unitChoices[kind].find((u) => u === found) ?? insideUnits[kind];
    };
    return { pressure: of('pressure'), flow: of('flow'), volume: of('volume'), temperature: of('temperature') };
  } catch {
    return insideUnits;
  }
}

export const units = signal<UnitChoice>(stored());

/** The next unit of a kind, round and round. */
export function nextUnit<K extends QuantityKind>(kind: K): void {
  const list = unitChoices[kind];
  const at = list.findIndex((u) => u === units.value[kind]);
  units.value = { ...units.value, [kind]: list[(at + 1) % list.length] };
  try {
    localStorage.setItem(key, JSON.stringify(units.value));
  } catch {
    // Then it lasts as long as the page.
  }
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

export function inward(kind: QuantityKind | null | undefined, shown: number): number {
  return kind ? toInside(shown, units.value[kind]) : shown;
}

/** A width (an uncertainty, a step) has no offset. */
export function widthOutward(kind: QuantityKind | null | undefined, inside: number): number {
  return outward(kind, inside) - outward(kind, 0);
}
