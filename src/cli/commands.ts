import type { Command } from './command.ts';
import { analyse } from './commands/analyse.ts';
import { audit } from './commands/audit.ts';
import { backup } from './commands/backup.ts';
import { doctor } from './commands/doctor.ts';
import { exportCommand } from './commands/export.ts';
import { hub } from './commands/hub.ts';
import { importCommand } from './commands/import.ts';
import { kit } from './commands/kit.ts';
import { people } from './commands/people.ts';
import { ports } from './commands/ports.ts';
import { report } from './commands/report.ts';
import { restore } from './commands/restore.ts';
import { runs } from './commands/runs.ts';
import { salvage } from './commands/salvage.ts';
import { seal } from './commands/seal.ts';
import { segment } from './commands/segment.ts';
import { simulate } from './commands/simulate.ts';
import { start } from './commands/start.ts';
import { verify } from './commands/verify.ts';

/** All commands, in the order of the help. Each loads what it needs when it runs. */
export const commands: readonly Command[] = [
  start,
  simulate,
  analyse,
  audit,
  segment,
  runs,
  exportCommand,
  importCommand,
  seal,
  verify,
  report,
  people,
  ports,
  kit,
  hub,
  backup,
  restore,
  salvage,
  doctor,
];
