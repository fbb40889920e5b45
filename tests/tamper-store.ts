import { join } from 'node:path';
import { DatabaseSync } from '@photostructure/sqlite';

/** Change the database of a closed data folder as somebody does who wants it unseen: past what guards its tables. */
export function tamper(data: string, sql: string): void {
  const db = new DatabaseSync(join(data, 'limpid.sqlite'));
  try {
    db.exec('DROP TRIGGER IF EXISTS events_are_set; DROP TRIGGER IF EXISTS events_stay');
    db.exec(sql);
  } finally {
    db.close();
  }
}
