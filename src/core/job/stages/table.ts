import type { StageName } from '../event.ts';
import { dose } from './dose.ts';
import { emitters } from './emitters.ts';
import { fill } from './fill.ts';
import { handOver, protect } from './finish.ts';
import { halfFill } from './half-fill.ts';
import { circulate, warm } from './heat.ts';
import { join } from './join.ts';
import { rinse } from './rinse.ts';
import { afterSamples, beforeSamples } from './samples.ts';
import type { StageSpec } from './stage.ts';
import { survey } from './survey.ts';

/** The thirteen stages as data. */
export const stageSpecs: Readonly<Record<StageName, StageSpec>> = {
  survey,
  'before-samples': beforeSamples,
  join,
  fill,
  dose,
  warm,
  'half-fill': halfFill,
  emitters,
  circulate,
  rinse,
  'after-samples': afterSamples,
  protect,
  'hand-over': handOver,
};
