import type { Rule } from './rule.ts';
import { leftBeforeClear } from './rules/left-before-clear.ts';
import { neverVisited } from './rules/never-visited.ts';

/** All rules that ship, in the order of the job. */
export const rules: readonly Rule[] = [leftBeforeClear, neverVisited];
