import type { Database } from './database.ts';

/** Every statement of the store, prepared once for all runs. */
export function prepareAll(db: Database) {
  return {
    heads: db.statement('SELECT run, run_id, head FROM runs ORDER BY run'),
    countRuns: db.statement('SELECT count(*) AS count FROM runs'),
    run: db.statement('SELECT run, run_id, head FROM runs WHERE run_id = ?'),
    addRun: db.statement('INSERT INTO runs (run_id, head) VALUES (?, ?)'),
    current: db.statement('SELECT run_id FROM current JOIN runs USING (run)'),
    setCurrent: db.statement('UPDATE current SET run = (SELECT run FROM runs WHERE run_id = ?)'),

    certificates: db.statement('SELECT body FROM certificates WHERE kit = ? ORDER BY certificate'),
    allCertificates: db.statement('SELECT body FROM certificates ORDER BY certificate'),
    certificateById: db.statement('SELECT body FROM certificates WHERE id = ?'),
    addCertificate: db.statement('INSERT INTO certificates (id, kit, body) VALUES (?, ?, ?)'),

    touch: db.statement('UPDATE current SET run = run'),

    events: db.statement('SELECT idx, link FROM events WHERE run = ? ORDER BY idx'),
    eventsFrom: db.statement('SELECT idx, link FROM events WHERE run = ? AND idx >= ? ORDER BY idx LIMIT ?'),
    eventById: db.statement('SELECT idx, link FROM events WHERE run = ? AND id = ?'),
    lastEvent: db.statement('SELECT idx, link FROM events WHERE run = ? ORDER BY idx DESC LIMIT 1'),
    lastEventTime: db.statement('SELECT max(time_s) AS time_s FROM events WHERE run = ?'),
    addEvent: db.statement('INSERT INTO events (run, idx, id, time_s, link) VALUES (?, ?, ?, ?, ?)'),

    allChunks: db.statement('SELECT chunk, from_s, to_s, count FROM chunks WHERE run = ? ORDER BY chunk'),
    chunks: db.statement(
      'SELECT chunk, from_s, to_s, count FROM chunks WHERE run = ? AND chunk >= 0 AND to_s >= ? AND from_s <= ? ORDER BY chunk',
    ),
    // What came late is numbered downwards from -1, in the same table.
    lateChunks: db.statement(
      'SELECT chunk, from_s, to_s, count FROM chunks WHERE run = ? AND chunk < 0 AND to_s >= ? AND from_s <= ? ORDER BY chunk DESC',
    ),
    countLate: db.statement('SELECT count(*) AS count FROM chunks WHERE run = ? AND chunk < 0'),
    chunkBody: db.statement('SELECT body FROM chunks WHERE run = ? AND chunk = ?'),
    lastChunk: db.statement(
      'SELECT chunk, from_s, to_s, count FROM chunks WHERE run = ? AND chunk >= 0 ORDER BY chunk DESC LIMIT 1',
    ),
    addChunk: db.statement('INSERT INTO chunks (run, chunk, from_s, to_s, count, body) VALUES (?, ?, ?, ?, ?, ?)'),

    tail: db.statement('SELECT body FROM tail WHERE run = ? ORDER BY part'),
    addTail: db.statement('INSERT INTO tail (run, body) VALUES (?, ?)'),
    clearTail: db.statement('DELETE FROM tail WHERE run = ?'),
  };
}
export type Statements = ReturnType<typeof prepareAll>;
