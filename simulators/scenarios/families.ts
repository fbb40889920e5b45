import { dirtFamilies } from './dirt-families.ts';
import { rinseFamilies } from './rinse-families.ts';
import type { Family } from './scenario.ts';
import { sensorFamilies } from './sensor-families.ts';
import { siteFamilies } from './site-families.ts';

/** All families of simulated runs, by name. */
export const families: readonly Family[] = [...dirtFamilies, ...sensorFamilies, ...siteFamilies, ...rinseFamilies];
