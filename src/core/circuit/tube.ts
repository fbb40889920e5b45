import { given, type Outcome, outOfRange, refused } from '../quantity/refusal.ts';

/** Where the dimensions of a tube come from, in plain words. */
export type Origin = 'read in a tube data table that cites the standard' | 'from memory, check against the tube';

export interface Tube {
  readonly id: string;
  readonly standard: string;
  readonly material: 'copper' | 'steel' | 'plastic';
  readonly outerMm: number;
  readonly wallMm: number;
  readonly origin: Origin;
}

const read: Origin = 'read in a tube data table that cites the standard';
const memory: Origin = 'from memory, check against the tube';

function tube(
  standard: string,
  material: Tube['material'],
  outerMm: number,
  wallMm: number,
  origin: Origin,
  name = String(outerMm),
): Tube {
  return { id: `${material}-${name}x${wallMm}`, standard, material, outerMm, wallMm, origin };
}

/** Tubes by material and size. Fifteen millimetres of plastic hold a fifth less than fifteen of copper. */
export const tubes: readonly Tube[] = [
  tube('EN 1057', 'copper', 8, 0.6, read),
  tube('EN 1057', 'copper', 10, 0.6, read),
  tube('EN 1057', 'copper', 10, 0.7, memory),
  tube('EN 1057', 'copper', 12, 0.6, read),
  tube('EN 1057', 'copper', 15, 0.7, read),
  tube('EN 1057', 'copper', 15, 1.0, read),
  tube('EN 1057', 'copper', 22, 0.9, read),
  tube('EN 1057', 'copper', 22, 1.2, read),
  tube('EN 1057', 'copper', 28, 0.9, read),
  tube('EN 1057', 'copper', 35, 1.2, read),
  tube('EN 1057', 'copper', 42, 1.2, read),
  tube('EN 1057', 'copper', 54, 1.2, read),
  tube('EN 10255 medium', 'steel', 21.3, 2.6, memory, 'dn15'),
  tube('EN 10255 medium', 'steel', 26.9, 2.6, memory, 'dn20'),
  tube('EN 10255 medium', 'steel', 33.7, 3.2, memory, 'dn25'),
  tube('EN 10255 medium', 'steel', 42.4, 3.2, memory, 'dn32'),
  tube('EN 10255 medium', 'steel', 60.3, 3.6, memory, 'dn50'),
  tube('plastic, UK sizes', 'plastic', 10, 1.5, memory),
  tube('plastic, UK sizes', 'plastic', 15, 1.5, memory),
  tube('plastic, UK sizes', 'plastic', 22, 2, memory),
  tube('EN ISO 15875', 'plastic', 16, 2, memory),
  tube('EN ISO 15875', 'plastic', 20, 2, memory),
];

export function boreMm(t: Tube): number {
  return t.outerMm - 2 * t.wallMm;
}

/** Litres in a metre of pipe of this inner bore, mm: a circle's area. */
export function litresPerMetre(innerMm: number): number {
  return (Math.PI / 4) * innerMm * innerMm * 1e-3;
}

/** The tube of this id, or a refusal that names those there are. */
export function findTube(id: string): Outcome<Tube> {
  const found = tubes.find((t) => t.id === id);
  if (found) return given(found);
  return refused('tube-unknown', { found: id, known: tubes.map((t) => t.id).join(', ') });
}

/** Litres in a run of pipe. Bore 3 to 200 mm, length 0 to 1000 m. */
export function runLitres(innerMm: number, lengthM: number): Outcome<number> {
  const refusal =
    outOfRange('inner bore', innerMm, 3, 200, 'mm') ?? outOfRange('length of the run', lengthM, 0, 1000, 'm');
  return refusal ? { ok: false, refusal } : given(litresPerMetre(innerMm) * lengthM);
}
