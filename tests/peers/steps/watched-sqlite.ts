// The database as the product has it, and each of its writes is a step.
import { basename } from 'node:path';
import { DatabaseSync as Real, type StatementSyncInstance } from '@photostructure/sqlite';
import { step } from './watch.ts';

const short = (sql: string): string => sql.trim().replaceAll(/\s+/g, ' ').slice(0, 60);

export class DatabaseSync extends Real {
  override exec(sql: string): void {
    step(`${basename(this.location() ?? '')}: ${short(sql)}`);
    super.exec(sql);
  }

  override prepare(sql: string, ...rest: []): StatementSyncInstance {
    const made = super.prepare(sql, ...rest);
    const name = `${basename(this.location() ?? '')}: ${short(sql)}`;
    const run = made.run.bind(made);
    const watched = (...values: Parameters<typeof run>): ReturnType<typeof run> => {
      step(name);
      return run(...values);
    };
    Object.defineProperty(made, 'run', { value: watched });
    return made;
  }
}
