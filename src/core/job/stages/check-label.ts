import { fillChecks } from './fill.ts';
import { protectChecks } from './finish.ts';
import { halfFillChecks } from './half-fill.ts';
import { circulateChecks } from './heat.ts';
import { joinChecks } from './join.ts';

const all = [...joinChecks, ...fillChecks, ...halfFillChecks, ...circulateChecks, ...protectChecks];

/** A tick as its stage calls it; one that no stage knows by its id. */
export function checkLabel(id: string): string {
  return all.find((c) => c.id === id)?.label ?? id;
}
