import { first } from './001-first.ts';
import { certificates } from './002-certificates.ts';
import { afterwards } from './003-afterwards.ts';

/** One step of the database's shape; runs in one transaction. Never changed once released: a new step is added. */
export interface Migration {
  /** What the database is after it: 1 more than before. */
  readonly version: number;
  readonly sql: string;
}

export const migrations: readonly Migration[] = [first, certificates, afterwards];
