/**
 * Units of water hardness, as mg/l of calcium carbonate for one of each. By definition: a German degree is 10 mg/l of
 * CaO, a French degree 10 mg/l of CaCO3, a Clark (English) degree one grain of CaCO3 in an imperial gallon, a grain per
 * US gallon likewise; molar masses CaCO3 100.0869 and CaO 56.0774 g/mol from memory.
 */
export const hardnessMgL = {
  'mg/l CaCO3': 1,
  'mmol/l': 100.0869,
  '°dH': (10 * 100.0869) / 56.0774,
  '°fH': 10,
  '°Clark': 64.79891 / 4.54609,
  'grain/US gal': 64.79891 / 3.785411784,
} as const;

export type HardnessUnit = keyof typeof hardnessMgL;

/** Hardness from one unit to another; linear, so sign and nought are kept. */
export function hardness(value: number, from: HardnessUnit, to: HardnessUnit): number {
  return (value * hardnessMgL[from]) / hardnessMgL[to];
}
