import { z } from 'zod';

export const testItemNames = [
  'conductivity',
  'turbidity',
  'ph',
  'hardness',
  'iron',
  'copper',
  'temperature',
  'inhibitor',
] as const;
export type TestItem = (typeof testItemNames)[number];

interface ItemRow {
  readonly title: string;
  readonly unit: string;
  /** Readings outside are no water's. */
  readonly low: number;
  readonly high: number;
}

/** What a water test can hold, with the unit in which it is kept. */
export const testItems: Readonly<Record<TestItem, ItemRow>> = {
  conductivity: { title: 'Conductivity at 25 °C', unit: 'µS/cm', low: 0, high: 200000 },
  turbidity: { title: 'Turbidity', unit: 'NTU', low: 0, high: 20000 },
  ph: { title: 'pH', unit: '', low: 0, high: 14 },
  hardness: { title: 'Hardness', unit: 'mg/l CaCO3', low: 0, high: 5000 },
  iron: { title: 'Iron', unit: 'mg/l', low: 0, high: 5000 },
  copper: { title: 'Copper', unit: 'mg/l', low: 0, high: 1000 },
  temperature: { title: 'Temperature', unit: '°C', low: 0, high: 110 },
  inhibitor: { title: 'Inhibitor, share of the label strength', unit: '%', low: 0, high: 1000 },
};

/**
 * One limit. `overMains` and `overMainsShare` count from the mains reading: a share of 0.1 is "within 10 % of the
 * mains". `origin` is printed beside it: what it cites, or that it needs checking.
 */
export const limitSchema = z.object({
  item: z.enum(testItemNames),
  least: z.number().optional(),
  most: z.number().optional(),
  overMainsShare: z.number().min(0).max(10).optional(),
  overMains: z.number().min(0).optional(),
  origin: z.string().min(1).max(300),
});
export type Limit = z.infer<typeof limitSchema>;

export const limitSetSchema = z.object({ name: z.string().min(1).max(100), limits: z.array(limitSchema).max(50) });
export type LimitSet = z.infer<typeof limitSetSchema>;

export type WetMaterial = 'steel' | 'cast-iron' | 'copper' | 'aluminium' | 'stainless' | 'plastic';

/**
 * Limits to start from. None was read in the text of a standard: each says so, and the user edits them. No limit for
 * iron, copper or hardness was found anywhere that may be cited, so there is none.
 */
export function defaultLimits(materials: readonly WetMaterial[]): LimitSet {
  const hasAluminium = materials.includes('aluminium');
  return {
    name: hasAluminium ? 'with aluminium' : 'without aluminium',
    limits: [
      {
        item: 'conductivity',
        overMainsShare: 0.1,
        origin: 'common practice, found in no public standard: check the local one',
      },
      { item: 'turbidity', overMains: 5, overMainsShare: 0.1, origin: 'common practice, no source' },
      {
        item: 'ph',
        least: 8.2,
        most: hasAluminium ? 9 : 10,
        origin: hasAluminium
          ? 'VDI 2035 for aluminium, from memory, check; judged some weeks after filling'
          : 'VDI 2035 by trade pages, its text not read, check; judged some weeks after filling',
      },
    ],
  };
}

/** What a user changed of a set: each names its item whole; one without bounds says that there is no limit. */
export function withLimits(set: LimitSet, changes: readonly Limit[]): LimitSet {
  const kept = set.limits.filter((l) => !changes.some((c) => c.item === l.item));
  return { ...set, limits: [...kept, ...changes] };
}

/** A limit from loose data, or null: it needs its item, and bounds that an item of its kind can have. */
export function limitOf(data: Readonly<Record<string, unknown>>): Limit | null {
  const { item, least, most, overMains, overMainsPercent, origin } = data;
  const share = typeof overMainsPercent === 'number' ? { overMainsShare: overMainsPercent / 100 } : {};
  const bounds = Object.entries({ least, most, overMains }).filter(([, v]) => typeof v === 'number');
  const from = typeof origin === 'string' && origin.trim() !== '' ? origin.trim() : ownOrigin;
  const parsed = limitSchema.safeParse({ item, ...Object.fromEntries(bounds), ...share, origin: from });
  return parsed.success ? parsed.data : null;
}

/** Where a limit comes from that the user set without saying more. */
export const ownOrigin = 'set for this run';
